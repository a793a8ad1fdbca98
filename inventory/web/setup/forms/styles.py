"""The boxes of a style."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms

from inventory.models import Style
from inventory.web.setup.forms.fields_of_model import FieldsOfModel

if TYPE_CHECKING:
    from inventory.queries.styles import Offer

RESERVED_CODES = frozenset({"new"})
"""Codes that are addresses of their own."""


class StyleForm(FieldsOfModel):
    model = Style
    names: ClassVar[tuple[str, ...]] = ("code", "name", "contains_metal", "note", "is_active")
    widgets = {
        "code": forms.TextInput(attrs={"size": 24, "autocapitalize": "none"}),
        "note": forms.Textarea(attrs={"rows": 3}),
    }
    labels = {"contains_metal": "Contains metal", "is_active": "We still receive this style"}
    help_texts = {
        "code": "Short and plain, such as elm-short; it stands on sheets and in files.",
        "contains_metal": "Bones, busk, eyelets, hooks: a metal check on arrival cannot be done everywhere.",
    }

    def clean_code(self) -> str:
        """Refuse a code that is an address of its own."""
        code: str = self.cleaned_data["code"]
        if code.lower() in RESERVED_CODES:
            raise forms.ValidationError(f"The code {code!r} is an address of this program. Type another.")
        return code


class NewStyleForm(StyleForm):
    """A style with the catalogue points it starts from, the family's core ticked beforehand."""

    names = ("code", "name", "contains_metal", "note")
    point_codes = forms.MultipleChoiceField(
        label="Points of measure",
        required=False,  # the service says what to do when none is ticked
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        offers: Sequence[Offer],
        contains_metal: bool,
    ) -> None:
        core = [offer.point.code for offer in offers if offer.core]
        super().__init__(data, initial={"point_codes": core, "contains_metal": contains_metal})
        chosen = self.fields["point_codes"]
        assert isinstance(chosen, forms.MultipleChoiceField)
        chosen.choices = [(offer.point.code, str(offer.point)) for offer in offers]
