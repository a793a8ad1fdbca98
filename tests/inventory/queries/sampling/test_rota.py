"""Secondary points rest once earned, until one reading of the batch is out."""

from __future__ import annotations

import pytest

from inventory.models import Inspection, Maker, Spec
from inventory.models.people import Role
from inventory.queries.bench.sheet import sheet_of
from inventory.services.inspections import finish_inspection
from inventory.services.judging import NotYetMeasured, judge_inspection
from tests import factories
from tests.factories import LACED, NOW
from tests.inventory.services.sampling.cast import agreed, big_batch, drawn, out_beyond_doubt

pytestmark = pytest.mark.django_db


def _earned() -> tuple[Maker, Spec]:
    """A maker with five clean batches of a style whose length is a secondary point."""
    maker, spec = factories.make_maker(), factories.make_spec(points=LACED)
    spec.style.points.filter(code="CF").update(is_secondary=True)
    point = spec.style.points.get(code="CF")
    point.save()  # counts the style's points up, which the kept plans go by
    spec.style.refresh_from_db()
    for day in range(5):
        for piece in big_batch(2, maker=maker, spec=spec, days=day).pieces.all():
            factories.make_verdict(piece)
    return maker, spec


def _sitting_without_length(inspection: Inspection) -> None:
    for code in ("UB", "WA"):
        for side in "LR":
            nominal = 405 if code == "UB" else 355
            step = {"22": -25, "24": 0, "26": 25}[inspection.piece.size_label]
            factories.make_reading(inspection, code, side, mm=nominal + step)


def test_a_secondary_point_rests_at_the_bench_and_the_piece_is_judged_without_it() -> None:
    maker, spec = _earned()
    batch = big_batch(4, maker=maker, spec=spec)
    agreed(batch, rota_batches=2)
    sample = drawn(batch)
    assert sample.sampling.document["resting"] == ["CF"]
    piece = sample.pieces[0].piece
    assert {step.point.code for step in sheet_of(piece.number).walk} == {"UB", "WA"}
    sitting = factories.make_inspection(piece)
    _sitting_without_length(sitting)
    owner = factories.make_user(Role.OWNER)
    assert finish_inspection(inspection=sitting, by=owner, at=NOW).shelf == "in"
    # one reading out brings every point back for what is measured from then on
    out_beyond_doubt(sample.pieces[1].piece)
    following = sample.pieces[2].piece
    assert {step.point.code for step in sheet_of(following.number).walk} == {"UB", "WA", "CF"}
    late = factories.make_inspection(following)
    _sitting_without_length(late)
    with pytest.raises(NotYetMeasured, match="CF L, CF R"):
        finish_inspection(inspection=late, by=owner, at=NOW)
    # what was closed before is judged again as it was measured
    assert judge_inspection(inspection=sitting, by=owner, at=NOW).shelf == "in"


def test_without_a_rota_every_point_is_measured() -> None:
    maker, spec = _earned()
    batch = big_batch(4, maker=maker, spec=spec)
    agreed(batch)
    assert drawn(batch).sampling.document["resting"] == []
    assert len({step.point.code for step in sheet_of(batch.pieces.all()[0].number).walk}) == 3
