"""What can be chosen of a document."""

from __future__ import annotations

from typing import Any

from django import forms

from inventory.models import Shop
from reports.models import Document


class DocumentForm(forms.Form):
    """Paper, and for labels the first free place of a half-used sheet."""

    paper = forms.ChoiceField(choices=Shop.Paper.choices)
    first = forms.IntegerField(
        label="First free label",
        min_value=1,
        initial=1,
        help_text="1 is top left, counting along the rows. For a half-used sheet.",
        widget=forms.NumberInput(attrs={"size": 4}),
    )

    def __init__(self, *args: Any, kind: str, **kwargs: Any) -> None:  # Any: Django's own signature
        super().__init__(*args, **kwargs)
        if kind != Document.Kind.LABELS:
            del self.fields["first"]
