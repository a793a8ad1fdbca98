"""What a file brings in must be what the bench would have stored of the same figures."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from inventory.models import Inspection, PieceVerdict, Reading
from inventory.services.deliveries import add_batch, receive_delivery
from inventory.services.inspections import finish_inspection, open_inspection, record_reading
from inventory.services.pieces import PieceCount, number_pieces
from tests.factories import LACED, NOW, PointRecipe, make_maker
from tests.inventory.services.importing.files_of_pieces import (
    World,
    bring_in,
    csv_of,
    make_world,
)

POINTS = (
    *LACED,
    PointRecipe(
        "FW", "full waist", kind="half", basis="full", nominal_mm=310, tolerance_mm=10, asymmetry_mm=None
    ),
    PointRecipe(
        "BU", "busk length", kind="length", sides="single", nominal_mm=280, step_mm=0, tolerance_mm=3
    ),
    PointRecipe("CW", "closed waist", kind="half", sides="single", nominal_mm=330, tolerance_mm=5),
    PointRecipe("IN", "for information", kind="length", sides="single", nominal_mm=100, informational=True),
)
ALL = tuple((p.code, side) for p in POINTS for side in (("L", "R") if p.sides == "pair" else ("S",)))
SIZES = ("22", "24", "26")

deviations = st.lists(
    st.integers(-30, 30).map(lambda tenths: tenths / 2), min_size=len(ALL), max_size=len(ALL)
)
missing = st.sets(st.integers(0, len(ALL) - 1), max_size=2)
piece = st.tuples(
    st.sampled_from(SIZES), st.sampled_from(SIZES), deviations, st.one_of(st.just(set()), missing)
)


def _figures(made_as: str, off: Sequence[float]) -> dict[tuple[str, str], str]:
    place = SIZES.index(made_as)
    nominal = {p.code: p.nominal_mm + place * p.step_mm for p in POINTS}
    return {column: f"{nominal[column[0]] + dev:g}" for column, dev in zip(ALL, off, strict=True)}


class SameAsBench(TestCase):
    @settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow])
    @given(st.lists(piece, min_size=1, max_size=4))
    def test_a_file_leaves_the_readings_and_verdicts_that_the_bench_leaves(
        self, pieces: list[tuple[str, str, list[float], set[int]]]
    ) -> None:
        world = make_world(POINTS)
        typed = [
            (
                label,
                {c: t for place, (c, t) in enumerate(_figures(made_as, off).items()) if place not in gone},
            )
            for label, made_as, off, gone in pieces
        ]
        rows = [
            [f"p{n}", label, *(figures.get(c, "") for c in ALL)] for n, (label, figures) in enumerate(typed)
        ]
        bring_in(csv_of(rows, header=["Piece", "Size", *(f"{c} {s}" for c, s in ALL)]), world)
        brought = _latest_batch()
        _measure_at_the_bench(world, typed)
        measured = _latest_batch()
        assert brought == measured


def _measure_at_the_bench(world: World, typed: Sequence[tuple[str, dict[tuple[str, str], str]]]) -> None:
    by = world.inspector
    delivery = receive_delivery(maker=make_maker(), arrived_at=NOW, order_reference="x", by=by, at=NOW)
    batch = add_batch(delivery=delivery, style=world.spec.style, spec=world.spec, by=by, at=NOW)
    points = {point.code: point for point in world.spec.style.points.all()}
    numbered = number_pieces(batch=batch, counts=[PieceCount(label, 1) for label, _ in typed], by=by, at=NOW)
    for one, (_, figures) in zip(numbered, typed, strict=True):
        if not figures:
            continue
        sitting = open_inspection(piece=one, by=by, at=NOW, unit="mm")
        for (code, side), text in figures.items():
            done = record_reading(
                inspection=sitting, point=points[code], side=side, typed=text, by=by, at=NOW
            )
            for question in done.questions:
                question.answer = "kept"
                question.save()
        needed = {column for column in ALL if column[0] != "IN"}
        if needed <= figures.keys():
            finish_inspection(inspection=sitting, by=by, at=NOW)


def _latest_batch() -> list[object]:
    """Everything of the latest batch that must agree, in label order, without ids and moments."""
    inspections = list(Inspection.objects.order_by("piece__number").select_related("piece"))
    firsts = sorted({one.piece.batch_id for one in inspections})
    chosen = [one for one in inspections if one.piece.batch_id == firsts[-1]]
    return [_of_sitting(one) for one in chosen]


def _of_sitting(one: Inspection) -> object:
    readings = Reading.objects.filter(inspection=one).order_by("point__position", "side", "repeat")
    figures = readings.values_list("point__code", "side", "repeat", "typed", "unit", "length_nm", "taken_by")
    verdict = PieceVerdict.objects.filter(inspection=one).values_list(
        "shelf",
        "claim",
        "worst_point",
        "worst_aspect",
        "size_suspected",
        "fits_size",
        "size_margin_nm",
        "findings",
        "basis__digest",
        "is_current",
    )
    return one.piece.size_label, one.finished_at is not None, list(figures), list(verdict)
