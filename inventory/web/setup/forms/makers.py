"""The boxes of a maker."""

from __future__ import annotations

from django import forms

from inventory.models import Maker
from inventory.web.setup.forms.fields_of_model import FieldsOfModel

RESERVED_CODES = frozenset({"new"})
"""Codes that are addresses of their own."""


class MakerForm(FieldsOfModel):
    model = Maker
    names = (
        "code",
        "name",
        "country",
        "language",
        "email",
        "notice_window_days",
        "window_source",
        "governing_law",
        "note",
        "is_active",
    )
    widgets = {
        "code": forms.TextInput(attrs={"size": 12, "autocapitalize": "none"}),
        "language": forms.TextInput(attrs={"size": 8, "autocapitalize": "none"}),
        "note": forms.Textarea(attrs={"rows": 4}),
    }
    labels = {
        "notice_window_days": "Notice window, days from arrival",
        "window_source": "Where the window is agreed",
        "is_active": "We still buy from this maker",
    }
    help_texts = {
        "notice_window_days": "Agreed for notice of faults. Leave empty when nothing is agreed.",
        "window_source": "Contract, order or mail, with its date: what one would show if it were doubted.",
    }

    def clean_code(self) -> str:
        """Refuse a code that is an address of its own."""
        code: str = self.cleaned_data["code"]
        if code.lower() in RESERVED_CODES:
            raise forms.ValidationError(f"The code {code!r} is an address of this program. Type another.")
        return code
