"""The boxes of the shop's settings."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from inventory.models import Shop
from inventory.web.setup.forms.fields_of_model import FieldsOfModel


class ShopForm(FieldsOfModel):
    model = Shop
    names = (
        "name",
        "display_unit",
        "fraction_denominator",
        "blind_entry",
        "paper",
        "notice_days",
        "full_claim_days",
        "closed_days",
        "measure_all_up_to",
        "minutes_per_reading",
        "cost_per_hour",
        "cost_of_wrong_in",
        "cost_of_wrong_out",
    )
    widgets = {
        "notice_days": forms.NumberInput(attrs={"min": 1, "max": 60}),
        "full_claim_days": forms.NumberInput(attrs={"min": 1, "max": 90}),
        "closed_days": forms.Textarea(attrs={"rows": 5, "cols": 40, "spellcheck": "false"}),
        "measure_all_up_to": forms.NumberInput(attrs={"min": 1}),
        "minutes_per_reading": forms.TextInput(attrs={"size": 8, "inputmode": "decimal"}),
        "cost_per_hour": forms.TextInput(attrs={"size": 10, "inputmode": "decimal"}),
        "cost_of_wrong_in": forms.TextInput(attrs={"size": 10, "inputmode": "decimal"}),
        "cost_of_wrong_out": forms.TextInput(attrs={"size": 10, "inputmode": "decimal"}),
    }
    labels = {
        "name": "Name of the shop",
        "display_unit": "Show lengths in",
        "fraction_denominator": "Fractions of an inch",
        "blind_entry": "Blind reading at the bench",
        "paper": "Paper size",
        "notice_days": "Working days to our own notice",
        "full_claim_days": "Working days to the full table",
        "closed_days": "Closed days",
        "measure_all_up_to": "Measure every piece of batches up to",
        "minutes_per_reading": "Minutes a reading takes",
        "cost_per_hour": "An hour of measuring costs",
        "cost_of_wrong_in": "Selling a piece that is out costs",
        "cost_of_wrong_out": "Refusing a piece that is in costs",
    }
    help_texts = {
        "display_unit": "Only how lengths are shown; each spec keeps its own unit of record.",
        "notice_days": "How soon after arrival we want the maker to know what is wrong.",
        "full_claim_days": "How soon after arrival the complete table shall follow.",
        "measure_all_up_to": "Pieces. Above, by the sampling agreed on with the maker or set for the shop.",
        "closed_days": "Holidays and shutdowns, one a line: 2026-12-25 holiday, or "
        "2026-08-03 to 2026-08-14 summer. Saturdays and Sundays need no line.",
    }

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, row: Shop
    ) -> None:  # Any: what a request carries
        super().__init__(data, row=row)
        fractions = self.fields["fraction_denominator"]
        assert isinstance(fractions, forms.TypedChoiceField)
        fractions.choices = [("", "Decimals"), *Shop.Fractions.choices]
