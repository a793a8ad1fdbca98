"""How lengths are shown: exact whole nanometres, exact millimetres, and as the shop shows them.

    {"nm": 342900000, "mm": "342.9", "shown": "13 1/2 in"}

`nm` is what is stored and judged. `mm` is the same as a decimal text, never rounded. `shown` is rounded for
reading and may change with the shop's settings: never calculate with it.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from inventory.calc.length import Display, Unit, show, show_uncertainty

Shape = serializers.Serializer[Any]  # Any: it shows rows and plain values of many kinds

LENGTH_SCHEMA = {
    "type": "object",
    "description": "A length: exact nanometres, exact millimetres as text, and as the shop shows it.",
    "properties": {
        "nm": {"type": "integer", "format": "int64", "description": "What is stored and judged."},
        "mm": {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]{1,6})?$", "description": "The same, exact."},
        "shown": {"type": "string", "description": "Rounded for reading; depends on the shop's settings."},
    },
    "required": ["nm", "mm", "shown"],
    "example": {"nm": 342900000, "mm": "342.9", "shown": "342.9 mm"},
}


class LengthField(serializers.Field[int, Any, dict[str, Any], Any]):  # Any: read only, from rows and values
    """A length in whole nanometres as the object above; `signed` for deviations."""

    def __init__(self, *, signed: bool = False, **kwargs: Any) -> None:  # Any: passed on
        self.signed = signed
        super().__init__(**{"read_only": True} | kwargs)

    def to_representation(self, value: int) -> dict[str, Any]:  # Any: JSON
        display = self.context.get("display") or Display(Unit.MM)
        return {"nm": value, "mm": exact_mm(value), "shown": show(value, display, signed=self.signed)}


extend_schema_field(LENGTH_SCHEMA)(LengthField)


class UncertaintyField(LengthField):
    """An uncertainty or guard band as the same object; `shown` is rounded up, so only 0 looks like 0."""

    def to_representation(self, value: float) -> dict[str, Any]:  # Any: JSON
        display = self.context.get("display") or Display(Unit.MM)
        nm = int(value)
        return {"nm": nm, "mm": exact_mm(nm), "shown": show_uncertainty(value, display)}


def exact_mm(nm: int) -> str:
    """Whole nanometres as a decimal text of millimetres, exact.

    >>> exact_mm(342_900_000), exact_mm(-396_875), exact_mm(0), exact_mm(1_000_000_000)
    ('342.9', '-0.396875', '0', '1000')
    """
    text = f"{Decimal(nm).scaleb(-6):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
