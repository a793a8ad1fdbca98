"""Everything that was measured, one line per piece, point and side or aspect, as a person would list it.

A judged piece is told as its current verdict found it, with the limits and the uncertainty of that day. What
was read and not judged (points for information, sittings that are not finished) has its lines too, without a
verdict. Pieces are read a few hundred at a time, so a shop of any size fits into memory.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, NamedTuple

from django.db.models import Exists, Max, OuterRef

from inventory.calc.conformity import Limits
from inventory.calc.plan import Aspect
from inventory.calc.uncertainty import mean_nm
from inventory.models import Inspection, MeasurePoint, Piece, PieceVerdict, Reading, User
from inventory.models.findings import read_rows
from inventory.queries.plans import plans_of

if TYPE_CHECKING:
    from inventory.calc.judging import Finding
    from inventory.calc.plan import PointPlan
    from inventory.models import Batch

AT_ONCE: Final = 200  # pieces
_MOST_BASES: Final = 200  # kept in memory, some 10 kB each


class Read(NamedTuple):
    """One reading in effect: as typed, in which unit, how long, by whom, when, with which instrument."""

    side: str
    typed: str
    unit: str
    length_nm: int
    by: str
    at: dt.datetime
    instrument: str


@dataclass(frozen=True, slots=True)
class Measurement:
    """One line (lengths in nm). `finding` is None where a side was read and not judged.

    `readings` are those of the side; a full girth and left against right come from those of both sides.
    """

    piece: Piece
    verdict: PieceVerdict | None
    point: MeasurePoint
    aspect: Aspect
    readings: Sequence[Read]
    value_nm: int
    nominal_nm: int | None
    limits: Limits | None
    finding: Finding | None

    @property
    def deviation_nm(self) -> int | None:
        """How far it lies from its nominal, where there is one."""
        return None if self.nominal_nm is None else self.value_nm - self.nominal_nm


@dataclass(slots=True)
class _Known:
    """What many pieces share, asked for once."""

    people: Mapping[int, str]
    points: dict[int, Mapping[str, MeasurePoint]] = field(default_factory=dict)
    bases: dict[int, Mapping[str, PointPlan]] = field(default_factory=dict)

    def points_of(self, style_id: int) -> Mapping[str, MeasurePoint]:
        if style_id not in self.points:
            of_style = MeasurePoint.objects.filter(style=style_id).order_by("position", "id")
            self.points[style_id] = {point.code: point for point in of_style}
        return self.points[style_id]

    def plans_of(self, verdict: PieceVerdict) -> Mapping[str, PointPlan]:
        if verdict.basis_id not in self.bases:
            if len(self.bases) >= _MOST_BASES:
                self.bases.clear()
            self.bases[verdict.basis_id] = verdict.basis.as_plans()
        return self.bases[verdict.basis_id]


_BySide = dict[tuple[str, str], list[Read]]


def pieces_measured(batch: Batch | None = None) -> list[int]:
    """The pieces of a batch, or of the whole shop, that were begun: by batch and label."""
    found = Piece.objects.filter(Exists(Inspection.objects.filter(piece=OuterRef("pk"))))
    if batch is not None:
        found = found.filter(batch=batch)
    return list(found.order_by("batch__number", "number").values_list("pk", flat=True))


def measurements_of(pieces: Sequence[int]) -> Iterator[list[Measurement]]:
    """The lines of these pieces, in lots of `AT_ONCE` pieces; four statements a lot.

    A style's points and what a basis of judging asks are looked up once for all pieces.
    """
    known = _Known(people={person.pk: person.shown_name for person in User.objects.all()})
    for begin in range(0, len(pieces), AT_ONCE):
        yield list(_lines(pieces[begin : begin + AT_ONCE], known))


def _lines(wanted: Sequence[int], known: _Known) -> Iterator[Measurement]:
    pieces = Piece.objects.select_related("batch__style", "batch__spec", "batch__delivery__maker").in_bulk(
        wanted
    )
    current = PieceVerdict.objects.filter(piece__in=wanted, is_current=True)
    current = current.select_related("basis__spec").defer("basis__document")
    verdicts = {verdict.piece_id: verdict for verdict in current}
    last = Inspection.objects.filter(piece__in=wanted).order_by().values_list("piece").annotate(Max("id"))
    sittings = {
        pk: verdicts[pk].inspection_id if pk in verdicts else latest for pk, latest in last if pk in pieces
    }
    readings = _readings_of(sittings.values(), known)
    for pk in wanted:
        if pk in sittings:
            yield from _lines_of(pieces[pk], verdicts.get(pk), readings[sittings[pk]], known)


def _readings_of(sittings: Iterable[int], known: _Known) -> defaultdict[int, _BySide]:
    found: defaultdict[int, _BySide] = defaultdict(dict)
    rows = Reading.objects.in_effect().filter(inspection__in=list(sittings)).order_by("id")
    for sitting, code, person, side, typed, unit, length_nm, at, instrument in rows.values_list(
        *("inspection_id", "point__code", "taken_by_id", "side", "typed", "unit", "length_nm", "taken_at"),
        "instrument__number",
    ):
        one = Read(side, typed, unit, length_nm, known.people.get(person, ""), at, instrument or "")
        found[sitting].setdefault((code, side), []).append(one)
    return found


def _lines_of(
    piece: Piece, verdict: PieceVerdict | None, readings: _BySide, known: _Known
) -> Iterator[Measurement]:
    points = known.points_of(piece.batch.style_id)
    findings: Mapping[str, Sequence[Finding]] = (
        {} if verdict is None else read_rows(verdict.findings, plans=known.plans_of(verdict))
    )
    size = piece.size_label if verdict is None else verdict.basis.size_label
    asked = plans_of(piece.batch).by_size.get(size, {})
    codes = {code for code, _ in readings} | set(findings)
    for code in (code for code in points if code in codes):
        for finding in findings.get(code, ()):
            yield _judged(piece, verdict, points[code], finding, readings)
        if code not in findings:
            for side in ("L", "R", "S"):
                if (code, side) in readings:
                    yield _only_read(piece, verdict, points[code], readings[code, side], plan=asked.get(code))


def _judged(
    piece: Piece, verdict: PieceVerdict | None, point: MeasurePoint, finding: Finding, readings: _BySide
) -> Measurement:
    one_side = finding.aspect.value in "LRS"
    sides = finding.aspect.value if one_side else "LRS"
    return Measurement(
        piece=piece,
        verdict=verdict,
        point=point,
        aspect=finding.aspect,
        readings=[one for side in sides for one in readings.get((point.code, side), ())],
        value_nm=finding.value_nm,
        nominal_nm=finding.nominal_nm,
        limits=Limits(finding.lower_nm, finding.upper_nm),
        finding=finding,
    )


def _only_read(
    piece: Piece,
    verdict: PieceVerdict | None,
    point: MeasurePoint,
    readings: Sequence[Read],
    *,
    plan: PointPlan | None,
) -> Measurement:
    asked = None if plan is None or point.informational else plan
    return Measurement(
        piece=piece,
        verdict=verdict,
        point=point,
        aspect=Aspect(readings[0].side),
        readings=readings,
        value_nm=mean_nm([one.length_nm for one in readings]),
        nominal_nm=plan.nominal_nm if plan else None,
        limits=asked.limits if asked else None,
        finding=None,
    )
