"""What stands above the header: lines such as "Style | KL-110" say where all rows of the file go."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Final

from django.db.models import Q

from inventory.models import ImportRun, Maker, Style
from inventory.services.importing.cells import Cell, date_of, text_of
from inventory.services.importing.roles import guess_word

if TYPE_CHECKING:
    from inventory.services.importing.files import Table
    from inventory.services.importing.mapping import TableMapping

_SAID: Final = {
    ImportRun.Kind.PIECES.value: ("maker", "style", "revision", "order", "arrived_on"),
    ImportRun.Kind.SPEC.value: ("style",),
}
_LONGEST: Final = {"order": 60, "revision": 8}


def said_above(table: Table, mapping: TableMapping, *, kind: str) -> dict[str, str]:
    """Maker, style, revision, order and arrival as far as lines above the header name them, as in a target.

    A maker or style that is not entered here, and a date that cannot be read, is no choice.
    """
    found: dict[str, str] = {}
    for row in table.rows[: mapping.header_row - 1]:
        name, cell = _named(row)
        role = guess_word(name, _SAID[kind]) if name else ""
        value = _value(role, cell, day_first=mapping.day_first) if role else ""
        if value:
            found.setdefault(role, value)
    return found


def _named(row: Sequence[Cell]) -> tuple[str, Cell]:
    """The name at the beginning of a line and the cell it speaks of."""
    filled = [cell for cell in row if cell != ""]
    if len(filled) == 1:
        name, colon, rest = text_of(filled[0]).partition(":")
        return (name, rest.strip()) if colon else ("", "")
    return (text_of(filled[0]).rstrip(": "), filled[1]) if len(filled) > 1 else ("", "")


def _value(role: str, cell: Cell, *, day_first: bool) -> str:
    text = text_of(cell)
    if role == "arrived_on":
        day = date_of(cell, day_first=day_first)
        return "" if day is None else day.date().isoformat()
    codes: dict[str, Callable[[str], str]] = {"maker": _maker, "style": _style}
    if role in codes:
        return codes[role](text)
    return text if len(text) <= _LONGEST[role] else ""


def _maker(text: str) -> str:
    return _only(
        Maker.objects.filter(Q(code__iexact=text) | Q(name__iexact=text)).values_list("code", flat=True)
    )


def _style(text: str) -> str:
    named = Style.objects.filter(Q(code__iexact=text) | Q(name__iexact=text), is_active=True)
    return _only(named.values_list("code", flat=True))


def _only(codes: Iterable[str]) -> str:
    found = list(codes)
    return found[0] if len(found) == 1 else ""
