"""What one cell holds: text as typed, or a date where a spreadsheet made one."""

from __future__ import annotations

import datetime as dt
import re
from typing import Final

from inventory.calc.length import DENOMINATORS

Cell = str | dt.datetime

_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_ISO: Final = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ](\d{1,2}):(\d{2})(?::\d{2}(?:\.\d+)?)?)?")
_BY_PARTS: Final = re.compile(
    r"(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})(?:[T ,]+(\d{1,2}):(\d{2})(?::\d{2})?)?"
)
_NAMED: Final = re.compile(r"(\d{1,2})[ .-]+([A-Za-z]{3,9})[ .,-]+(\d{4}|\d{2})")


def cell_of(value: object) -> Cell:
    """A value of a spreadsheet as the text it shows; dates stay dates.

    >>> cell_of(13.0), cell_of(13.5), cell_of(0.1 + 0.2), cell_of(None), cell_of(" WA ")
    ('13', '13.5', '0.3', '', 'WA')
    """
    if value is None:
        return ""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, float):
        shown = f"{value:.15g}"
        return shown if "e" not in shown else f"{value:f}"
    if isinstance(value, dt.date):
        return _as_moment(value)
    return str(value)


def _as_moment(value: dt.date) -> dt.datetime:
    if isinstance(value, dt.datetime):
        return value.replace(tzinfo=None)
    return dt.datetime(value.year, value.month, value.day)  # noqa: DTZ001  # a day of a sheet has no zone


def text_of(cell: Cell) -> str:
    """The cell as text; a date as year-month-day, with the time if there is one."""
    if isinstance(cell, str):
        return cell.strip()
    return cell.strftime("%Y-%m-%d" if cell.time() == dt.time() else "%Y-%m-%d %H:%M")


def date_said(cell: dt.datetime) -> str:
    """A date in the column of a length: what stands there, and the fraction it may have been.

    >>> date_said(dt.datetime(2024, 8, 3)), date_said(dt.datetime(2024, 5, 20))
    ('3 August 2024 (3/8?)', '20 May 2024')
    """
    shown = f"{cell.day} {_MONTHS[cell.month - 1]} {cell.year}"
    for top, bottom in ((cell.day, cell.month), (cell.month, cell.day)):
        if bottom in DENOMINATORS and top < bottom:
            return f"{shown} ({top}/{bottom}?)"
    return shown


def date_of(cell: Cell, *, day_first: bool) -> dt.datetime | None:
    """A cell of a date column, without a zone; None when it is not a date.

    >>> date_of("3.8.2024", day_first=True), date_of("3/8/24", day_first=False)
    (datetime.datetime(2024, 8, 3, 0, 0), datetime.datetime(2024, 3, 8, 0, 0))
    """
    if not isinstance(cell, str):
        return cell
    text = cell.strip()
    try:
        if match := _ISO.fullmatch(text):
            year, month, day, hour, minute = match.groups()
        elif match := _BY_PARTS.fullmatch(text):
            first, second, year, hour, minute = match.groups()
            day, month = (first, second) if day_first else (second, first)
        elif match := _NAMED.fullmatch(text):
            day, name, year = match.groups()
            hour = minute = None
            month = str(_month(name))
        else:
            return None
        full_year = int(year) + (2000 if len(year) == 2 else 0)
        return dt.datetime(full_year, int(month), int(day), int(hour or 0), int(minute or 0))  # noqa: DTZ001
    except ValueError:
        return None


def _month(name: str) -> int:
    for number, month in enumerate(_MONTHS, start=1):
        if month.casefold().startswith(name.casefold()):
            return number
    raise ValueError(name)
