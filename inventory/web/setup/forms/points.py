"""The boxes of a point of measure, in a style and in the catalogue."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.db import models

from inventory.fields import LengthFormField
from inventory.models import CataloguePoint, MeasurePoint
from inventory.web.setup.forms.fields_of_model import FieldsOfModel

_WORDS = (
    "code",
    "name",
    "measured_from",
    "measured_to",
    "path",
    "level",
    "state",
    "face",
    "kind",
    "sides",
    "pitfalls",
    "informational",
    "same_person_sd_nm",
    "two_people_sd_nm",
)


_FOR_THE_BUDGET = (
    "height_nm",
    "height_u_nm",
    "state_u_nm",
    "seams_crossed",
    "cloth_direction",
    "edge_bound",
    "is_secondary",
)


class PointForm(FieldsOfModel):
    model: ClassVar[type[models.Model]] = MeasurePoint
    names: ClassVar[tuple[str, ...]] = (*_WORDS, *_FOR_THE_BUDGET)
    widgets = {
        "code": forms.TextInput(attrs={"size": 12, "autocapitalize": "characters"}),
        "level": forms.Textarea(attrs={"rows": 2}),
        "pitfalls": forms.Textarea(attrs={"rows": 3}),
        "same_person_sd_nm": forms.TextInput(attrs={"size": 10, "inputmode": "text"}),
        "two_people_sd_nm": forms.TextInput(attrs={"size": 10, "inputmode": "text"}),
        "height_nm": forms.TextInput(attrs={"size": 10, "inputmode": "text"}),
        "height_u_nm": forms.TextInput(attrs={"size": 10, "inputmode": "text"}),
        "state_u_nm": forms.TextInput(attrs={"size": 10, "inputmode": "text"}),
    }
    labels = {
        "measured_from": "From",
        "measured_to": "To",
        "sides": "Side",
        "informational": "For information only",
        "same_person_sd_nm": "Spread of one person's repeats",
        "two_people_sd_nm": "Spread between people",
        "height_nm": "Height above the waist line",
        "height_u_nm": "Level found to",
        "state_u_nm": "State of the cloth",
        "seams_crossed": "Seams crossed",
        "cloth_direction": "Runs along",
        "edge_bound": "Ends at a bound edge",
        "is_secondary": "Secondary point",
    }
    help_texts = {
        "code": "Up to 12 letters and digits; it heads the columns of sheets and files.",
        "measured_from": "The edge, seam or mark where the tape begins.",
        "measured_to": "The edge, seam or mark where it ends.",
        "path": "Straight, along the edge, or along the seam.",
        "level": "How the height of the line is found.",
        "state": "Taut, relaxed or extended; laces slack; fastening open or closed.",
        "face": "Outside or inside.",
        "kind": "A half girth is read on one half and doubled; a length is read as it is.",
        "sides": "Left and right are as worn: the wearer's left.",
        "pitfalls": "What goes wrong here, and how one notices.",
        "informational": "Read and kept, but no verdict hangs on it.",
        "same_person_sd_nm": "Standard deviation of one person's repeats, such as 1.5 mm or 0.06 in.",
        "two_people_sd_nm": "Standard deviation of single readings by different people; at least as large.",
        "height_nm": "Of a girth; below the waist with a minus. Two heights say what a wrong level does.",
        "height_u_nm": "Standard uncertainty of finding the level, such as 3 mm.",
        "state_u_nm": "Standard uncertainty from tension, rest and humidity, such as 1 mm.",
        "seams_crossed": "Of one half: a seam sewn too deep shows once per seam.",
        "cloth_direction": "Cloth that shrinks or stretches does so in one direction.",
        "edge_bound": "Binding can pull an edge in.",
        "is_secondary": "May be left to a rota once a maker has earned it.",
    }

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        row: models.Model | None = None,
        initial: Mapping[str, Any] | None = None,  # Any: values of fields
    ) -> None:
        super().__init__(data, row=row, initial=initial)
        height = self.fields.get("height_nm")
        if isinstance(height, LengthFormField):
            height.signed = True


class CataloguePointForm(PointForm):
    model = CataloguePoint
    names = (
        *_WORDS,
        "tolerance_minus_nm",
        "tolerance_plus_nm",
        "basis",
        "asymmetry_limit_nm",
        "source",
    )
    widgets = PointForm.widgets | {
        "tolerance_minus_nm": forms.TextInput(attrs={"size": 10}),
        "tolerance_plus_nm": forms.TextInput(attrs={"size": 10}),
        "asymmetry_limit_nm": forms.TextInput(attrs={"size": 10}),
    }
    labels = PointForm.labels | {
        "tolerance_minus_nm": "Tolerance minus",
        "tolerance_plus_nm": "Tolerance plus",
        "basis": "Tolerance refers to",
        "asymmetry_limit_nm": "Left-right limit",
    }
    help_texts = PointForm.help_texts | {
        "tolerance_minus_nm": "Without its sign, such as 6 mm or 1/4 in.",
        "tolerance_plus_nm": "Without its sign; it may differ from minus.",
        "asymmetry_limit_nm": "How far left and right may be apart. Empty: they are not compared.",
        "source": "Where the figures come from: your own study, an agreement, or common practice.",
    }
