"""The demo shop loads into an empty installation and nowhere else."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from inventory.management.demo import scenario
from inventory.models import AuditRow, Batch, Piece, PieceVerdict, Reading
from tests.factories import make_maker

pytestmark = pytest.mark.django_db


def test_the_demo_has_stories_to_look_at_and_work_to_do() -> None:
    said = StringIO()
    call_command("load_demo", stdout=said)
    assert Batch.objects.count() == len(scenario.BATCHES)
    assert Piece.objects.count() == sum(batch.pieces for batch in scenario.BATCHES)
    current = PieceVerdict.objects.filter(is_current=True)
    assert current.count() == sum(batch.measured for batch in scenario.BATCHES)
    assert {verdict.shelf for verdict in current} == {"in", "close", "out"}
    assert current.filter(size_suspected=True).exists()
    # Whoever measured did what the bench asked: nothing is left too close to call, but where they stopped.
    stopped = sum(batch.stopped_short is not None for batch in scenario.BATCHES)
    assert current.filter(shelf="close").count() == stopped
    assert Reading.objects.filter(repeat__gt=1).values("taken_by").distinct().count() == 2
    assert AuditRow.objects.filter(deed="record reading").exists()
    assert Client().login(username="owner", password=scenario.PASSWORD)
    assert "sign in as 'owner'" in said.getvalue()


def test_the_demo_is_refused_where_somebody_works_already() -> None:
    make_maker()
    with pytest.raises(CommandError, match="only for an empty installation"):
        call_command("load_demo", stdout=StringIO())
