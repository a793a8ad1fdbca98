"""The boxes of a point of measure, in a style and in the catalogue."""

from __future__ import annotations

from typing import ClassVar

from django import forms
from django.db import models

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


class PointForm(FieldsOfModel):
    model: ClassVar[type[models.Model]] = MeasurePoint
    names: ClassVar[tuple[str, ...]] = _WORDS
    widgets = {
        "code": forms.TextInput(attrs={"size": 12, "autocapitalize": "characters"}),
        "level": forms.Textarea(attrs={"rows": 2}),
        "pitfalls": forms.Textarea(attrs={"rows": 3}),
        "same_person_sd_nm": forms.TextInput(attrs={"size": 10, "inputmode": "text"}),
        "two_people_sd_nm": forms.TextInput(attrs={"size": 10, "inputmode": "text"}),
    }
    labels = {
        "measured_from": "From",
        "measured_to": "To",
        "sides": "Side",
        "informational": "For information only",
        "same_person_sd_nm": "Spread of one person's repeats",
        "two_people_sd_nm": "Spread between people",
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
    }


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
