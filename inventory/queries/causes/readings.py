"""The readings of a batch as the causes know them: how far off, who, which tape, when, and the neighbours."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple, cast

from django.db.models import Exists, OuterRef, Subquery

from inventory.calc.causes import Piece, Reading
from inventory.models import Inspection, Instrument, Shop, Spec, SpecCell, User
from inventory.models import Piece as PieceRow
from inventory.models import Reading as ReadingRow
from inventory.models.inspections import PieceState
from inventory.queries.tape_corrections import tapes_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from inventory.calc.causes import Side
    from inventory.models import Batch
    from inventory.queries.plans import SpecPlans

MOST_PIECES: Final = 150
"""More pieces say hardly more of a cause, and cost time: so many are taken, evenly over the batch."""

NO_TAPE: Final = "tape not named"

_AS_MADE: Final = (PieceState.AS_RECEIVED, PieceState.PRESSED)


@dataclass(frozen=True, slots=True)
class BatchReadings:
    """What was read of a batch, of `measured` pieces of which some are taken; when, by the order of readings.

    `without_nominal` readings are of a size or point the spec does not have, and left out.
    """

    pieces: tuple[Piece, ...]
    readings: tuple[Reading, ...]
    measured: int
    without_nominal: int
    moments: tuple[dt.datetime, ...]


class _Row(NamedTuple):
    """One reading as it is asked for; the order of the fields is that of the columns."""

    piece: int
    point: int
    side: str
    person: int
    tape: int | None
    tape_of_sitting: int | None
    at: dt.datetime
    length_nm: int
    state: str


def readings_for_causes(batch: Batch, spec_plans: SpecPlans) -> BatchReadings:
    """The readings in effect of a batch, as it was made, without the errors of their tapes; five statements.

    A piece read as it came counts by those readings alone; one read only after it came back from a buyer
    is marked as tried on. Readings after rework say nothing of how it was made. Sizes are those on the labels
    now.
    """
    measured = _pieces_measured(batch)
    chosen = _evenly(measured, MOST_PIECES)
    sizes = dict(chosen)
    by_piece: defaultdict[int, list[_Row]] = defaultdict(list)
    for row in _rows(batch, sizes):
        by_piece[row.piece].append(row)
    kept = {number: _as_made(rows) for number, rows in by_piece.items()}
    moments = sorted({row.at for rows in kept.values() for row in rows})
    built = _Builder(batch, spec_plans, order={at: place for place, at in enumerate(moments)})
    pieces, readings, without = [], [], 0
    for number, rows in sorted(kept.items()):
        found = [reading for row in rows if (reading := built.reading(row, sizes[number])) is not None]
        without += len(rows) - len(found)
        if found:
            tried_on = all(row.state == PieceState.RETURNED for row in rows)
            pieces.append(built.piece(number, sizes[number], tried_on=tried_on))
            readings += found
    return BatchReadings(
        pieces=tuple(pieces),
        readings=tuple(readings),
        measured=len(measured),
        without_nominal=without,
        moments=tuple(moments),
    )


def _pieces_measured(batch: Batch) -> list[tuple[int, str]]:
    begun = Inspection.objects.filter(piece=OuterRef("pk"), readings__isnull=False)
    found = PieceRow.objects.filter(Exists(begun), batch=batch).order_by("number")
    return list(found.values_list("number", "size_label"))


def _evenly(rows: Sequence[tuple[int, str]], most: int) -> list[tuple[int, str]]:
    if len(rows) <= most:
        return list(rows)
    return [rows[place * len(rows) // most] for place in range(most)]


def _rows(batch: Batch, numbers: Mapping[int, str]) -> list[_Row]:
    found = (
        ReadingRow.objects.in_effect()
        .filter(inspection__piece__batch=batch)
        .exclude(piece_state=PieceState.REWORKED)
        .order_by()
        .values_list(
            "inspection__piece__number",
            "point_id",
            "side",
            "taken_by_id",
            "instrument_id",
            "inspection__instrument_id",
            "taken_at",
            "length_nm",
            "piece_state",
        )
    )
    return [row for row in map(_Row._make, found) if row.piece in numbers]


def _as_made(rows: list[_Row]) -> list[_Row]:
    return [row for row in rows if row.state in _AS_MADE] or rows


class _Builder:
    """What every reading of a batch is held against, asked for once."""

    def __init__(self, batch: Batch, spec_plans: SpecPlans, *, order: Mapping[dt.datetime, int]) -> None:
        self._plans = spec_plans.by_size
        self._codes = {point.pk: code for code, point in spec_plans.points.items() if not point.informational}
        self._sizes = list(spec_plans.by_size)
        self._former = _former_nominals(batch)
        self._people = _names_of_people()
        self._known = tapes_of(Shop.objects.current())
        self._tapes = dict(Instrument.objects.values_list("pk", "number"))
        self._order = order

    def piece(self, number: int, size_label: str, *, tried_on: bool) -> Piece:
        return Piece(
            name=label_of(number),
            size=self._sizes.index(size_label),
            size_label=size_label,
            tried_on=tried_on,
        )

    def reading(self, row: _Row, size_label: str) -> Reading | None:
        code = self._codes.get(row.point, "")
        nominal_nm = self._nominal(size_label, code)
        if nominal_nm is None:
            return None
        at = self._sizes.index(size_label)
        before = self._sizes[at - 1] if at else ""
        after = self._sizes[at + 1] if at + 1 < len(self._sizes) else ""
        tape = row.tape or row.tape_of_sitting
        known = self._known.at(row.tape, row.at)
        length_nm = row.length_nm if known is None else known.segment.line.corrected_nm(row.length_nm)
        return Reading(
            piece=label_of(row.piece),
            code=code,
            side=cast("Side", row.side),
            person=self._people[row.person],
            tape=NO_TAPE if tape is None else self._tapes[tape],
            nominal_nm=nominal_nm,
            deviation_nm=length_nm - nominal_nm,
            order=self._order[row.at],
            smaller_nm=self._nominal(before, code),
            larger_nm=self._nominal(after, code),
            former_nm=self._former.get((code, size_label)),
        )

    def _nominal(self, size_label: str, code: str) -> int | None:
        plan = self._plans.get(size_label, {}).get(code)
        return None if plan is None else plan.nominal_nm


def label_of(number: int) -> str:
    """A piece's label by its number."""
    return PieceRow(number=number).label


def _former_nominals(batch: Batch) -> dict[tuple[str, str], int]:
    """Nominals of the agreed revision before the batch's own, by point code and size; one statement."""
    former = Spec.objects.filter(style=batch.style_id, revision__lt=batch.spec.revision)
    former = former.exclude(state=Spec.State.DRAFT).order_by("-revision")
    cells = SpecCell.objects.filter(spec_point__spec=Subquery(former.values("pk")[:1])).order_by()
    return {
        (code, size): nominal_nm
        for code, size, nominal_nm in cells.values_list(
            "spec_point__point__code", "size__label", "nominal_nm"
        )
    }


def _names_of_people() -> dict[int, str]:
    """Everybody by the name shown, with the sign-in name where two are called the same."""
    people = list(User.objects.all())
    called = Counter(person.shown_name for person in people)
    return {
        person.pk: person.shown_name
        if called[person.shown_name] == 1
        else f"{person.shown_name} ({person.username})"
        for person in people
    }
