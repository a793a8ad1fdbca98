"""The boxes of a tape or rule."""

from __future__ import annotations

from django import forms

from inventory.models import Instrument
from inventory.web.setup.forms.fields_of_model import FieldsOfModel


class InstrumentForm(FieldsOfModel):
    model = Instrument
    names = (
        "number",
        "kind",
        "description",
        "division_nm",
        "accuracy_class",
        "zero_at_end",
        "stated_u_nm",
        "check_every_days",
        "in_use_since",
    )
    widgets = {
        "number": forms.TextInput(attrs={"size": 12}),
        "division_nm": forms.TextInput(attrs={"size": 10}),
        "stated_u_nm": forms.TextInput(attrs={"size": 10}),
        "check_every_days": forms.NumberInput(attrs={"size": 5}),
        "in_use_since": forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    }
    help_texts = {
        "number": "Write it on the instrument: a reading says by it which one took it.",
        "description": "What it looks like, its length, its class if it has one.",
        "division_nm": "The distance between two marks, such as 1 mm or 1/16 in; "
        "without a unit it is in the shop's.",
        "accuracy_class": "The Roman number in an oval on the tape (EU MID annex MI-008, OIML R 35). Sewing "
        "tapes commonly carry none.",
        "zero_at_end": "Its own end or hook is the zero, which may be off a little more.",
        "stated_u_nm": "Of a tape without a class, as far as you know it, until it is checked against a "
        "steel rule.",
        "check_every_days": "1 for every day. Empty: it is never called due.",
    }


class RetireForm(forms.Form):
    """From which day an instrument is out of use."""

    on = forms.DateField(
        label="Out of use from", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
