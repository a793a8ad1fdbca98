"""The boxes of a correction to what was typed when a piece was numbered."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from django import forms

if TYPE_CHECKING:
    from django.http import QueryDict

    from inventory.models import Piece


class PieceCorrectionForm(forms.Form):
    """Size, colour and the reason; `sizes` are those of the spec."""

    size_label = forms.ChoiceField(label="Size on the label")
    colour = forms.CharField(required=False, max_length=40, widget=forms.TextInput(attrs={"size": 20}))
    reason = forms.CharField(
        max_length=200,
        help_text="What went wrong, such as: typed 24 for 26.",
        widget=forms.TextInput(attrs={"size": 40}),
    )

    def __init__(self, data: QueryDict | None, *, piece: Piece, sizes: Sequence[str]) -> None:
        super().__init__(data, initial={"size_label": piece.size_label, "colour": piece.colour})
        choice = self.fields["size_label"]
        assert isinstance(choice, forms.ChoiceField)
        known = [*sizes] if piece.size_label in sizes else [piece.size_label, *sizes]
        choice.choices = [(size, size) for size in known]
