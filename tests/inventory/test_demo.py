"""The demo shop loads into an empty installation and nowhere else."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.utils import timezone

from inventory.calc.causes import Answer, Cause
from inventory.calc.drift.individuals import Steadiness
from inventory.management.demo import scenario
from inventory.models import (
    AuditRow,
    Batch,
    BatchDecision,
    Piece,
    PieceVerdict,
    PointError,
    Reading,
    Study,
    TapeCheck,
)
from inventory.queries.batches import batch_by_number
from inventory.queries.causes.answer import WhoseFault, whose_fault
from inventory.queries.own.check_garment import state_at
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
    # Its own measuring: a steady check garment, a study in use, a tape found wrong, a batch sampled.
    state = state_at(timezone.now())
    assert state is not None
    assert (state.verdict, state.garments[0].sittings) == (Steadiness.STEADY, 20)
    assert PointError.objects.get().study == Study.objects.get(state=Study.State.FINISHED)
    wrong = TapeCheck.objects.get(outcome=TapeCheck.Outcome.NOT_GOOD)
    assert wrong.instrument.retired_on is not None
    sampled = BatchDecision.objects.get().sampling
    assert (sampled.batch_size, sampled.drawn.count()) == (120, 20)
    fault = {order: _asked(order).ranking for order in ("TR-123", "TR-107")}
    clear, unclear = fault["TR-123"], fault["TR-107"]
    assert clear is not None
    assert (clear.answer, clear.suspects[0].cause) == (Answer.CAUSE, Cause.SEAMS)
    assert unclear is not None
    assert unclear.answer is Answer.CANNOT_TELL
    assert Client().login(username="owner", password=scenario.PASSWORD)
    assert "sign in as 'owner'" in said.getvalue()


def _asked(order: str) -> WhoseFault:
    batch = batch_by_number(Batch.objects.get(delivery__order_reference=order).number)
    assert batch is not None
    return whose_fault(batch)


def test_the_demo_is_refused_where_somebody_works_already() -> None:
    make_maker()
    with pytest.raises(CommandError, match="only for an empty installation"):
        call_command("load_demo", stdout=StringIO())
