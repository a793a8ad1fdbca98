"""The boxes of a check garment: set up, begin its baseline anew, open a sitting."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms

from inventory.models import Instrument, MeasurePoint, Style
from inventory.queries.instruments import TAPES

if TYPE_CHECKING:
    from collections.abc import Mapping


class StyleForm(forms.Form):
    """Of which style the kept piece is; its points are asked for next."""

    style = forms.ModelChoiceField(
        Style.objects.filter(is_active=True), empty_label="Choose the style", help_text="Of the kept piece."
    )


class GarmentForm(forms.Form):
    """What is kept, where, and what is read of it."""

    code = forms.CharField(
        max_length=20,
        help_text="Write it on the tag, such as KEEP-1.",
        widget=forms.TextInput(attrs={"size": 12}),
    )
    size_label = forms.CharField(
        label="Size", max_length=12, required=False, widget=forms.TextInput(attrs={"size": 8})
    )
    points = forms.ModelMultipleChoiceField(
        MeasurePoint.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        help_text="Two to four that decide verdicts: a half girth and a length say most. Each costs a minute "
        "a day.",
    )
    baseline_sittings = forms.IntegerField(
        label="Sittings of the baseline",
        initial=8,
        help_text="So many say what it measures, before it can say that we moved. Five at least.",
        widget=forms.NumberInput(attrs={"size": 4}),
    )
    kept_where = forms.CharField(
        label="Kept", max_length=120, required=False, help_text="Flat, dark, dry; which shelf."
    )
    note = forms.CharField(max_length=300, required=False)

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, style: Style
    ) -> None:  # Any: what a request carries
        super().__init__(data)
        points = self.fields["points"]
        assert isinstance(points, forms.ModelMultipleChoiceField)
        points.queryset = style.points.filter(is_active=True).order_by("position", "pk")


class AnewForm(forms.Form):
    """Why only sittings from now on count."""

    reason = forms.CharField(
        max_length=200,
        label="Why the baseline begins anew",
        help_text="Such as a repair of the garment, or a new tape.",
    )


class SittingForm(forms.Form):
    """With which tape the garment is measured."""

    instrument = forms.ModelChoiceField(
        Instrument.objects.filter(kind__in=TAPES, retired_on=None),
        label="Tape",
        required=False,
        empty_label="A tape without a number",
    )
