"""A form with boxes, words and limits taken from a model; checking among rows and saving is the service's.

Not Django's model form: that writes what was typed into the row in hand, and says a broken constraint by its
name. The services say the same things in the user's words.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from django import forms
from django.forms.models import fields_for_model, model_to_dict

from inventory.fields import LengthFormField
from inventory.models import Shop

if TYPE_CHECKING:
    from django.db import models


class FieldsOfModel(forms.Form):
    """Subclasses name the model and its fields; `row` gives what stands in the boxes at first.

    A length typed without a unit is in the unit of the shop.
    """

    model: ClassVar[type[models.Model]]
    names: ClassVar[tuple[str, ...]]
    widgets: ClassVar[dict[str, type[forms.Widget] | forms.Widget]] = {}
    labels: ClassVar[dict[str, str]] = {}
    help_texts: ClassVar[dict[str, str]] = {}

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,  # Any: what a request carries
        *,
        row: models.Model | None = None,
        initial: Mapping[str, Any] | None = None,  # Any: values of fields
    ) -> None:
        stored = {} if row is None else model_to_dict(row, fields=self.names)
        super().__init__(data, initial={**stored, **(initial or {})})
        taken = fields_for_model(
            self.model,
            fields=self.names,
            widgets=self.widgets,
            labels=self.labels,
            help_texts=self.help_texts,
        )
        for box in taken.values():
            if isinstance(box, LengthFormField):
                box.unit = Shop.objects.current().as_display().unit
        # The model's boxes first, in the order named; a subclass's own after them.
        self.fields = taken | self.fields
