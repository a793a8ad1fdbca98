"""The boxes of a new version of a decision rule."""

from __future__ import annotations

from django import forms

from inventory.models import DecisionRule
from inventory.web.setup.forms.fields_of_model import FieldsOfModel


class RuleForm(FieldsOfModel):
    model = DecisionRule
    names = ("name", "code", "purpose", "multiplier", "max_repeats", "at_the_end", "source")
    widgets = {
        "code": forms.TextInput(attrs={"size": 24, "autocapitalize": "none"}),
        "multiplier": forms.TextInput(attrs={"size": 8, "inputmode": "decimal"}),
        "max_repeats": forms.NumberInput(attrs={"min": 1, "max": 12}),
        "source": forms.Textarea(attrs={"rows": 3}),
    }
    labels = {
        "purpose": "What it decides",
        "multiplier": "Guard band, as a multiple of the uncertainty",
        "max_repeats": "Most readings of one point",
        "at_the_end": "When those are used up and it is still too close",
    }
    help_texts = {
        "code": "The same code makes the next version of that rule; another code starts a rule of its own.",
        "multiplier": "0 compares plainly; 1.645 passes at most 1 in 20 at the limit; 2 proves a fault.",
        "source": "Where the rule comes from: a standard, an agreement with the maker.",
    }
