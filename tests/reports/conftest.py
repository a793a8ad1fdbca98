"""A measured batch to print from."""

from __future__ import annotations

import pytest

from inventory.models import Batch
from inventory.services.judging import judge_inspection
from tests.factories import NOW, make_batch, make_inspection, make_piece, make_spec, measure_all


@pytest.fixture
def measured_batch() -> Batch:
    """Three pieces: one in tolerance, one with a waist out, one not measured yet."""
    batch = make_batch(make_spec())
    for off in ({}, {("WA", "L"): 12.0, ("WA", "R"): 11.0}):
        inspection = make_inspection(make_piece(batch))
        measure_all(inspection, off)
        judge_inspection(inspection=inspection, by=inspection.opened_by, at=NOW)
    make_piece(batch)
    return batch
