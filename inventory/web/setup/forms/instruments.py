"""The boxes of a tape or rule."""

from __future__ import annotations

from django import forms

from inventory.models import Instrument
from inventory.web.setup.forms.fields_of_model import FieldsOfModel


class InstrumentForm(FieldsOfModel):
    model = Instrument
    names = ("number", "kind", "description", "division_nm", "in_use_since")
    widgets = {
        "number": forms.TextInput(attrs={"size": 12}),
        "division_nm": forms.TextInput(attrs={"size": 10}),
        "in_use_since": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    }
    help_texts = {
        "number": "Write it on the instrument: a reading says by it which one took it.",
        "description": "What it looks like, its length, its class if it has one.",
        "division_nm": "The distance between two marks, such as 1 mm or 1/16 in; "
        "without a unit it is in the shop's.",
    }


class RetireForm(forms.Form):
    """From which day an instrument is out of use."""

    on = forms.DateField(
        label="Out of use from", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
