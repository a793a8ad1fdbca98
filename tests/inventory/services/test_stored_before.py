"""The same key twice: the same reading come again, or another one that must not be lost behind it."""

from __future__ import annotations

import uuid
from dataclasses import replace

import pytest

from inventory.calc import length
from inventory.models import Reading
from inventory.models.inspections import PieceState
from inventory.services import inspections
from inventory.services.inspections import TypedReading
from tests.factories import NOW, make_inspection, make_piece, make_user

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("what", ["unit", "unit it cannot have", "correction", "piece", "sitting"])
def test_the_same_figure_under_the_same_key_may_still_be_another_reading(what: str) -> None:
    piece, inspector = make_piece(), make_user()
    sent = TypedReading(
        number=piece.number,
        code="WA",
        side="L",
        typed="13 1/2" if "cannot" in what else "35.5",
        unit=length.Unit.INCH if "cannot" in what else length.Unit.CM,
        client_key=uuid.uuid4(),
    )
    first = inspections.take_reading(sent, by=inspector, at=NOW)
    other = {
        "unit": replace(sent, unit=length.Unit.INCH),
        "unit it cannot have": replace(sent, unit=length.Unit.MM),
        "correction": replace(sent, corrects=first.reading.pk, reason="read again"),
        "piece": replace(sent, number=make_piece(piece.batch).number),
        "sitting": replace(sent, sitting=make_inspection(piece, piece_state=PieceState.PRESSED).pk),
    }[what]
    with pytest.raises(inspections.ClientKeyReused, match="already stands for"):
        inspections.take_reading(other, by=inspector, at=NOW)
    again = inspections.take_reading(replace(sent, sitting=first.reading.inspection_id), by=inspector, at=NOW)
    assert (again.reading, again.created) == (first.reading, False)
    assert Reading.objects.count() == 1
