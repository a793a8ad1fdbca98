"""The boxes of a kind of defect."""

from __future__ import annotations

from django import forms

from inventory.models import DefectKind
from inventory.web.setup.forms.fields_of_model import FieldsOfModel


class DefectKindForm(FieldsOfModel):
    model = DefectKind
    names = ("family", "name", "severity", "note", "source", "is_active")
    widgets = {
        "severity": forms.RadioSelect(),
        "note": forms.Textarea(attrs={"rows": 2}),
    }
    labels = {"name": "What is wrong", "is_active": "Offered when a defect is noted"}
    help_texts = {"family": "The group it is listed under, such as seams."}
