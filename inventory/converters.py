"""Addresses by what is printed on the label: `/pieces/P000123/`, `/batches/B0012/`, `/deliveries/D0007/`.

Importing this module registers the path converters `piece`, `batch`, `delivery` and `study`; a view gets the
number.
A scanner may send the label in any case and with fewer noughts: `p123` finds P000123.

    path("pieces/<piece:number>/", ...)     {% url "piece" piece.number %}  or  {% url "piece" piece.label %}
"""

from __future__ import annotations

import re

from django.urls import register_converter


class LabelConverter:
    """A letter and a number, as on the label; subclasses say which letter and how many noughts."""

    letter: str
    digits: int
    regex: str

    def to_python(self, value: str) -> int:
        """The number behind the letter."""
        return int(value[1:])

    def to_url(self, value: int | str) -> str:
        """The label of a number; a label is accepted as well."""
        if isinstance(value, str):
            if not re.fullmatch(self.regex, value):
                raise ValueError(f"{value!r} is no label of the form {self.label_of(12)}.")
            value = self.to_python(value)
        return self.label_of(value)

    @classmethod
    def label_of(cls, number: int) -> str:
        """What is printed for a number.

        >>> PieceConverter.label_of(123), BatchConverter.label_of(12), DeliveryConverter.label_of(7)
        ('P000123', 'B0012', 'D0007')
        """
        return f"{cls.letter}{number:0{cls.digits}d}"


class PieceConverter(LabelConverter):
    letter = "P"
    digits = 6
    regex = "[Pp][0-9]{1,18}"


class BatchConverter(LabelConverter):
    letter = "B"
    digits = 4
    regex = "[Bb][0-9]{1,9}"


class DeliveryConverter(LabelConverter):
    letter = "D"
    digits = 4
    regex = "[Dd][0-9]{1,9}"


class StudyConverter(LabelConverter):
    letter = "S"
    digits = 3
    regex = "[Ss][0-9]{1,9}"


register_converter(PieceConverter, "piece")
register_converter(BatchConverter, "batch")
register_converter(DeliveryConverter, "delivery")
register_converter(StudyConverter, "study")
