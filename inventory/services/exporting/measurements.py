"""The table of measurements for people: its columns, and a measurement as the values of a line.

Numbers stay numbers, in the shop's unit and, where that is not the millimetre, in millimetres as well. Days
and times are the shop's own, without a zone, so that a spreadsheet can sort them. People are named as the
pages name them; nobody's address is in it, so whoever may look at the records may take it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING, Final

from django.utils import timezone

from inventory.calc.length import Unit, nm_per_unit
from inventory.calc.plan import Aspect
from inventory.models.pieces import Standing
from inventory.models.verdicts import VerdictCode
from inventory.queries.pieces import waits_again

if TYPE_CHECKING:
    from inventory.queries.measurements import Measurement

Value = str | int | Decimal | dt.date | dt.datetime | None

SIDES: Final = {
    Aspect.LEFT: "left",
    Aspect.RIGHT: "right",
    Aspect.SINGLE: "single",
    Aspect.FULL: "full girth",
    Aspect.PAIR: "left minus right",
}
# A thousandth of a millimetre; in inches what it takes to write a 64th exactly.
_STEPS: Final = {Unit.MM: Decimal("0.001"), Unit.CM: Decimal("0.0001"), Unit.INCH: Decimal("0.000001")}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, its width in a workbook (signs), and where its value comes from."""

    heading: str
    width: int
    value: Callable[[Measurement], Value]


def columns_in(unit: Unit) -> tuple[Column, ...]:
    """The columns for a shop that shows lengths in this unit."""
    units = (unit,) if unit is Unit.MM else (unit, Unit.MM)
    return (*_WHAT, *(column for one in units for column in _figures(one)), *_FOUND)


def in_units(nm: int | None, unit: Unit, *, rounding: str = ROUND_HALF_EVEN) -> Decimal | None:
    """A length in a unit, rounded only beyond what any tape shows.

    >>> in_units(330_596_875, Unit.INCH), in_units(330_596_875, Unit.MM), in_units(340_000_000, Unit.MM)
    (Decimal('13.015625'), Decimal('330.597'), Decimal('340'))
    """
    if nm is None:
        return None
    exact = Decimal(int(nm)) / nm_per_unit()[unit]
    rounded = exact.quantize(_STEPS[unit], rounding=rounding)
    return rounded.normalize() + 0  # without trailing zeros, and adding 0 writes 3.4E+2 as 340


def _figures(unit: Unit) -> tuple[Column, ...]:
    def in_unit(length_of: Callable[[Measurement], int | None]) -> Callable[[Measurement], Value]:
        return lambda line: in_units(length_of(line), unit)

    return (
        Column(f"mean, {unit}", 11, in_unit(lambda line: line.value_nm)),
        Column(f"nominal, {unit}", 12, in_unit(lambda line: line.nominal_nm)),
        Column(
            f"lower limit, {unit}", 14, in_unit(lambda line: line.limits.lower_nm if line.limits else None)
        ),
        Column(
            f"upper limit, {unit}", 14, in_unit(lambda line: line.limits.upper_nm if line.limits else None)
        ),
        Column(f"deviation, {unit}", 13, in_unit(lambda line: line.deviation_nm)),
        Column(f"± (k = 2), {unit}", 13, lambda line: _uncertainty(line, unit)),
    )


def _uncertainty(line: Measurement, unit: Unit) -> Decimal | None:
    """Expanded uncertainty, rounded up, so that it is never understated."""
    found = line.finding
    return None if found is None else in_units(found.expanded_nm, unit, rounding=ROUND_CEILING)


def _shelf(line: Measurement) -> str:
    return _in_words(line, line.finding.shelf.value if line.finding else None)


def _claim(line: Measurement) -> str:
    return _in_words(line, line.finding.claim.value if line.finding else None)


def _in_words(line: Measurement, code: str | None) -> str:
    if code is not None:
        return str(VerdictCode(code).label)
    return "for information only" if line.point.informational else "not judged yet"


def _decides(line: Measurement) -> str:
    return "yes" if line.finding is not None and line.finding.deciding else "no"


def _of_piece(line: Measurement, *, claim: bool) -> str:
    """The verdict of a piece; a re-labelled one waits until it is measured by its new label."""
    verdict, piece = line.verdict, line.piece
    if verdict is None:
        return "not judged yet"
    judged_size = verdict.basis.size_label
    if waits_again(standing=piece.standing, size_label=piece.size_label, judged_size=judged_size):
        return "to measure again"
    return str(VerdictCode(verdict.claim if claim else verdict.shelf).label)


def _spec(line: Measurement) -> int:
    return (line.verdict.basis.spec if line.verdict else line.piece.batch.spec).revision


def _typed(line: Measurement) -> str:
    """As typed; a full girth and left against right were read by nobody."""
    return "; ".join(one.typed for one in line.readings if one.side == line.aspect)


def _units(line: Measurement) -> str:
    return _each(one.unit for one in line.readings if one.side == line.aspect)


def _last_read(line: Measurement) -> dt.datetime | None:
    latest = max((one.at for one in line.readings), default=None)
    return None if latest is None else _local(latest)


def _local(moment: dt.datetime) -> dt.datetime:
    return timezone.localtime(moment).replace(tzinfo=None, microsecond=0)


def _each(texts: Iterable[str]) -> str:
    """Different texts, each once."""
    return "; ".join(dict.fromkeys(text for text in texts if text))


_WHAT: Final = (
    Column("maker", 26, lambda line: line.piece.batch.delivery.maker.name),
    Column("order", 14, lambda line: line.piece.batch.delivery.order_reference),
    Column("delivery", 10, lambda line: line.piece.batch.delivery.label),
    Column("arrived", 12, lambda line: _local(line.piece.batch.delivery.arrived_at).date()),
    Column("batch", 9, lambda line: line.piece.batch.label),
    Column("style", 16, lambda line: line.piece.batch.style.code),
    Column("spec revision", 14, _spec),
    Column("piece", 10, lambda line: line.piece.label),
    Column("maker's or old number", 22, lambda line: line.piece.maker_reference),
    Column("colour", 12, lambda line: line.piece.colour),
    Column("size on the label", 17, lambda line: line.piece.size_label),
    Column("judged as size", 15, lambda line: line.verdict.basis.size_label if line.verdict else ""),
    Column("point", 8, lambda line: line.point.code),
    Column("point name", 26, lambda line: line.point.name),
    Column("side", 16, lambda line: SIDES[line.aspect]),
    Column("readings as typed", 20, _typed),
    Column("typed in", 10, _units),
)
_FOUND: Final = (
    Column("verdict", 18, _shelf),
    Column("claim verdict", 18, _claim),
    Column("decides", 9, _decides),
    Column("measured by", 20, lambda line: _each(one.by for one in line.readings)),
    Column("measured at", 18, _last_read),
    Column("tape", 8, lambda line: _each(one.instrument for one in line.readings)),
    Column("piece's verdict", 18, lambda line: _of_piece(line, claim=False)),
    Column("piece's claim verdict", 21, lambda line: _of_piece(line, claim=True)),
    Column("piece's disposition", 19, lambda line: str(Standing(line.piece.standing).label)),
)
