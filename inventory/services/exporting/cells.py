"""Values of an export as text, and back without loss.

A length is exact millimetres, a moment is written with its zone. A text that a spreadsheet would take for a
formula gets an apostrophe in front, and so does one that has an apostrophe there already, so that reading
takes off exactly what writing put on. Numbers are never touched: −3 stays −3. The one loss: signs that no
workbook can hold become a replacement character, except in documents, which write them by their number.
"""

from __future__ import annotations

import datetime as dt
import json
import math
import re
from decimal import Decimal, InvalidOperation
from typing import Any, Final

from inventory.calc.errors import CalcError
from inventory.calc.length import from_mm, to_mm
from inventory.services.exporting.columns import Column, Kind

Value = Any  # Any: whatever a column of the database holds

_FORMULA_SIGNS: Final = ("=", "+", "-", "@", "\t", "\r", "'")
_RETURN: Final = "_x000D_"
_LIKE_ESCAPED: Final = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_ESCAPED: Final = re.compile(r"_x(000D|005F)_")
_UNPRINTABLE: Final = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


class CellWrong(ValueError):
    """A cell that cannot be what its column holds."""


def guarded(text: str) -> str:
    """A text that no spreadsheet takes for a formula.

    >>> guarded("=1+1"), guarded("plain"), unguarded(guarded("'quoted'"))
    ("'=1+1", 'plain', "'quoted'")
    """
    text = _UNPRINTABLE.sub("\N{REPLACEMENT CHARACTER}", text)
    return f"'{text}" if text.startswith(_FORMULA_SIGNS) else text


def unguarded(text: str) -> str:
    """The text behind `guarded`."""
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA_SIGNS) else text


def in_sheet(text: str) -> str:
    r"""A text as a cell of a workbook holds it: a carriage return would come back as a line feed.

    The form `_x000D_` is the workbook format's own (ECMA-376, Part 1, 22.4.2.4, ST_Xstring; from memory).

    >>> in_sheet("one\r\ntwo"), in_sheet("_x000D_")
    ('one_x000D_\ntwo', '_x005F_x000D_')
    >>> from_sheet(in_sheet("a\rb _x000D_ _x005F_ _x"))
    'a\rb _x000D_ _x005F_ _x'
    """
    return _LIKE_ESCAPED.sub("_x005F_", text).replace("\r", _RETURN)


def from_sheet(text: str) -> str:
    """The text behind `in_sheet`."""
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), text)


def plain(value: Value, kind: Kind) -> Value:
    """A value as JSON holds it: numbers, texts, truth, nothing, and documents as they are."""
    if value is None or kind in ("json", "yes", "number", "key"):
        return value
    if kind == "length":
        return f"{to_mm(value):f}"
    if isinstance(value, dt.datetime | dt.date):
        return value.isoformat()
    return value if isinstance(value, int) else str(value)


def written(value: Value, kind: Kind) -> str:
    """A value as the text of a CSV cell; nothing is an empty cell."""
    value = plain(value, kind)
    if value is None:
        return ""
    if kind == "json":
        document = json.dumps(value, separators=(",", ":"), ensure_ascii=False)
        return _UNPRINTABLE.sub(lambda sign: f"\\u{ord(sign[0]):04x}", document)
    if kind == "yes":
        return "yes" if value else "no"
    return guarded(value) if kind == "text" and isinstance(value, str) else str(value)


def read(cell: Value, column: Column, *, from_json: bool) -> Value:
    """A cell of an export back as a value, documents as text. Raises `CellWrong` saying what it should be."""
    if cell is None and column.kind == "text" and not from_json:
        return ""  # a workbook does not tell an empty text from nothing
    if cell is None or (cell == "" and column.kind != "text"):
        return None
    try:
        return _READERS[column.kind](cell, from_json)
    except (CalcError, ValueError, KeyError, InvalidOperation, TypeError, OverflowError) as problem:
        shown = str(cell)[:60]
        raise CellWrong(f"{column.name} holds {shown!r}, which is no {_SAID[column.kind]}.") from problem


def _text(cell: Value, from_json: bool) -> str:  # noqa: FBT001  # all readers are called alike
    text = f"{cell:.15g}" if isinstance(cell, float) else str(cell)
    if "\0" in text:
        raise ValueError(text)
    text.encode()  # half a surrogate pair is no text
    return text if from_json else unguarded(text)


def _number(cell: Value, _from_json: bool) -> int:  # noqa: FBT001  # as above
    number = Decimal(str(cell))
    if number != number.to_integral_value() or abs(number) >= 2**63:
        raise ValueError(cell)
    return int(number)


def _float(cell: Value, _from_json: bool) -> float:  # noqa: FBT001  # as above
    """Written in full (the shortest text that reads back the same), so nothing is lost."""
    value = float(str(cell))
    if not math.isfinite(value):
        raise ValueError(cell)
    return value


def _yes(cell: Value, _from_json: bool) -> bool:  # noqa: FBT001  # as above
    if isinstance(cell, bool):
        return cell
    return {"yes": True, "no": False, "true": True, "false": False}[str(cell).lower()]


def _moment(cell: Value, _from_json: bool) -> dt.datetime:  # noqa: FBT001  # as above
    moment = dt.datetime.fromisoformat(str(cell))
    if moment.tzinfo is None:
        raise ValueError(cell)
    return moment


def _json(cell: Value, from_json: bool) -> str:  # noqa: FBT001  # as above
    """The document as compact text: taken apart it would take ten times the room."""
    document = cell if from_json else json.loads(cell, parse_constant=_no_number)
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    if "\\u0000" in text:
        raise ValueError(text)
    text.encode()  # half a surrogate pair is no text
    return text


def _no_number(name: str) -> Value:
    raise ValueError(name)


_READERS: Final = {
    "text": _text,
    "number": _number,
    "key": _number,
    "length": lambda cell, _from_json: from_mm(str(cell)),
    "decimal": lambda cell, _from_json: Decimal(str(cell)),
    "float": _float,
    "yes": _yes,
    "day": lambda cell, _from_json: dt.date.fromisoformat(str(cell)),
    "moment": _moment,
    "json": _json,
}
_SAID: Final[dict[Kind, str]] = {
    "text": "text", "number": "whole number", "key": "whole number", "length": "length in millimetres",
    "decimal": "number", "float": "number", "yes": "yes or no", "day": "day",
    "moment": "moment with its zone", "json": "JSON",
}  # fmt: skip
