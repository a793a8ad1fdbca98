"""An untidy workbook of two years is brought in: all its faults found, then all its pieces judged."""

from __future__ import annotations

import datetime as dt

import pytest
from django.utils import timezone

from inventory import tasks
from inventory.models import (
    Batch,
    Delivery,
    ImportRun,
    Inspection,
    Job,
    Maker,
    Piece,
    PieceVerdict,
    Reading,
    User,
)
from inventory.models.people import Role
from inventory.services.importing import runs
from tests import untidy_workbook
from tests.factories import PointRecipe, make_maker, make_spec, make_style, make_user

pytestmark = pytest.mark.django_db

RECIPES = tuple(
    PointRecipe(
        code, name.lower(), nominal_mm=nominal, tolerance_mm=8, kind="half" if code != "CF" else "length"
    )
    for code, name, nominal in untidy_workbook.POINTS
)


@pytest.fixture
def inspector() -> User:
    for code in untidy_workbook.MAKERS:
        make_maker(code=code, name=code.title())
    for code in untidy_workbook.STYLES:
        style = make_style(RECIPES, code=code)
        make_spec(style, points=RECIPES, sizes=untidy_workbook.SIZES)
    make_user(Role.INSPECTOR, username="ann")
    return make_user(Role.INSPECTOR, username="importer")


def done(job: Job) -> None:
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error


def checked(content: bytes, by: User) -> ImportRun:
    """Upload and check with everything as it is proposed: nothing is chosen by hand."""
    run = runs.upload_file(kind="pieces", name="book.xlsx", content=content, by=by, at=timezone.now())
    done(runs.request_check(run=run, by=by))
    run.refresh_from_db()
    return run


def test_every_fault_is_found_and_nothing_else(inspector: User) -> None:
    content, truth = untidy_workbook.make(1)
    assert truth.pieces == 2_000
    assert set(truth.wrong) == {"date", "word", "size", "double", "marked", "metre"}
    run = checked(content, inspector)
    counts = run.report["counts"]
    assert {row for row, _, _ in run.report["errors"]} == truth.wrong_rows
    suspicious = {row for row, *_ in run.report["suspicious"]}
    assert set(truth.slips) <= suspicious
    assert suspicious <= {*truth.slips, *truth.other_size, *truth.wrong_rows}
    assert counts["left_out"] == truth.left_out
    assert (counts["pieces"], counts["deliveries"]) == (truth.pieces, truth.deliveries)
    assert any("(3/8?)" in sentence for _, _, sentence in run.report["errors"])
    assert Piece.objects.count() == 0


def test_without_the_grave_faults_two_years_are_stored_and_judged(inspector: User) -> None:
    content, truth = untidy_workbook.make(2, grave=False)
    run = checked(content, inspector)
    assert run.report["errors"] == []
    assert run.report["counts"]["left_out"] == truth.left_out
    done(runs.request_store(run=run, accept_suspicious=True, by=inspector, at=timezone.now()))
    assert Piece.objects.count() == PieceVerdict.objects.count() == truth.pieces
    assert Reading.objects.count() == truth.readings
    assert Delivery.objects.count() == Batch.objects.count() == truth.deliveries
    assert {maker.code for maker in Maker.objects.filter(deliveries__isnull=False)} == set(
        untidy_workbook.MAKERS
    )
    span = (
        Delivery.objects.latest("arrived_at").arrived_at - Delivery.objects.earliest("arrived_at").arrived_at
    )
    assert span > dt.timedelta(days=400)
    assert set(PieceVerdict.objects.values_list("shelf", flat=True)) == {"in", "close", "out"}
    assert Inspection.objects.filter(opened_by__username="ann").exists()
    assert Reading.objects.filter(note="read by ben").exists()
