"""The worksheet from paper: one box per side of each point, and when and with what it was measured."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from inventory.calc import length
from inventory.calc.errors import CalcError
from inventory.models import Instrument
from inventory.models.inspections import PieceState
from inventory.models.shop import LengthUnit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from inventory.queries.bench.sheet import Sheet


class WorksheetForm(forms.Form):
    """Boxes are kept as typed; a box that is no length is named, and then nothing is stored."""

    unit = forms.ChoiceField(label="Unit on the sheet", choices=LengthUnit.choices)
    measured_at = forms.DateTimeField(
        label="Measured on",
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
        help_text="Date and time written on the sheet.",
    )
    instrument = forms.ModelChoiceField(
        label="Tape",
        queryset=Instrument.objects.filter(retired_on=None),
        required=False,
        empty_label="not written",
    )
    piece_state = forms.ChoiceField(label="State of the piece", choices=PieceState.choices)

    def __init__(self, *args: Any, sheet: Sheet, now: dt.datetime, **kwargs: Any) -> None:  # Any: passed on
        super().__init__(*args, **kwargs)
        self.sheet = sheet
        self.fields["unit"].initial = sheet.unit
        self.fields["measured_at"].initial = now
        for step in sheet.walk:
            self.fields[self.name_of(step.column)] = forms.CharField(
                label=f"{step.point.code} {step.words}",
                required=False,
                max_length=40,
                widget=forms.TextInput(attrs={"size": 10, "autocomplete": "off"}),
            )

    @staticmethod
    def name_of(column: tuple[str, str]) -> str:
        """The form's name for the box of a point and side."""
        return "box-{}-{}".format(*column)

    def clean_measured_at(self) -> dt.datetime:
        """A sheet cannot have been filled in later than now."""
        moment: dt.datetime = self.cleaned_data["measured_at"]
        if moment > timezone.now() + dt.timedelta(minutes=1):
            raise ValidationError(f"{moment:%d %B %Y %H:%M} is still to come. Type when it was measured.")
        return moment

    def clean(self) -> dict[str, Any]:  # Any: Django's own shape
        """Read every box, so that all wrong ones are named at once."""
        unit = length.Unit(self.cleaned_data.get("unit", LengthUnit.MM))
        for step in self.sheet.walk:
            name = self.name_of(step.column)
            typed = self.cleaned_data.get(name, "")
            try:
                if typed:
                    length.parse(typed, unit=unit)
            except CalcError as refusal:
                self.add_error(name, str(refusal))
        return self.cleaned_data

    def boxes(self) -> dict[tuple[str, str], str]:
        """What stands in each box."""
        return {step.column: self.cleaned_data[self.name_of(step.column)] for step in self.sheet.walk}

    def circumstances(self) -> dict[str, Any]:  # Any: unit, moment, instrument, state
        """Unit, time, tape and state, as the service takes them."""
        kept = self.cleaned_data
        return {
            "unit": length.Unit(kept["unit"]),
            "measured_at": kept["measured_at"],
            "instrument": kept["instrument"],
            "piece_state": kept["piece_state"],
        }

    def rows(self) -> Iterator[dict[str, Any]]:  # Any: a point and its bound boxes
        """The boxes as on the paper: a row per point, left and right beside each other."""
        for code in dict.fromkeys(step.point.code for step in self.sheet.walk):
            steps = {step.side: step for step in self.sheet.walk if step.point.code == code}
            point = next(iter(steps.values())).point
            yield {
                "point": point,
                "left": self[self.name_of((code, "L"))] if "L" in steps else None,
                "right": self[self.name_of((code, "R"))] if "R" in steps else None,
                "single": self[self.name_of((code, "S"))] if "S" in steps else None,
            }
