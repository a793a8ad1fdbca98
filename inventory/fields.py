"""Exact lengths in rows and in typed boxes.

A length is stored as whole nanometres: 1/64 in is 396 875 nm, so every inch fraction of a tape and every
0.000001 mm is held exactly, and a value exactly at a limit stays exactly at the limit.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.db import models

from inventory.calc import length
from inventory.calc.errors import CalcError

if TYPE_CHECKING:
    NanometreBase = models.BigIntegerField[int, int]
    NullableNanometreBase = models.BigIntegerField[int | None, int | None]
else:
    NanometreBase = NullableNanometreBase = models.BigIntegerField


class LengthFormField(forms.CharField):
    """A box for a length as people type it; cleans to whole nanometres, or None when empty and not required.

    `unit` is taken when no unit is typed; a typed unit wins. `signed` takes a minus as well.
    """

    signed = False

    def __init__(
        self, *, unit: length.Unit = length.Unit.MM, **kwargs: Any
    ) -> None:  # Any: passed on to Django
        kwargs.pop("min_value", None)
        kwargs.pop("max_value", None)
        super().__init__(**kwargs)
        self.unit = unit

    def clean(self, value: Any) -> Any:  # Any: Django's own signature
        typed = super().clean(value)
        if not typed:
            return None
        try:
            return (length.parse_signed if self.signed else length.parse)(typed, unit=self.unit).nm
        except CalcError as refusal:
            raise ValidationError(str(refusal), code="length") from refusal

    def prepare_value(self, value: Any) -> Any:  # Any: Django's own signature
        return length.show_exact(value, unit=self.unit) if isinstance(value, int) else value


class NanometreField(NanometreBase):
    """A length in whole nanometres; its form box takes `13 1/2 in`, `34.3 cm` or `343 mm`."""

    def formfield(self, **kwargs: Any) -> forms.Field | None:  # Any: Django's own signature
        kwargs.setdefault("form_class", LengthFormField)
        return super().formfield(**kwargs)


class OptionalNanometreField(NullableNanometreBase):
    """As `NanometreField`, where the length may be unknown."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # Any: Django's own signature
        kwargs.setdefault("null", True)
        kwargs.setdefault("blank", True)
        super().__init__(*args, **kwargs)

    def formfield(self, **kwargs: Any) -> forms.Field | None:  # Any: Django's own signature
        kwargs.setdefault("form_class", LengthFormField)
        return super().formfield(**kwargs)
