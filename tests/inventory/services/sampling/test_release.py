"""Pieces that were not drawn: released on the sample of an accepted batch, and not otherwise."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Disposition, Piece
from inventory.models.people import Role
from inventory.models.pieces import Standing
from inventory.queries.bench.lists import batches_to_measure, next_piece_of
from inventory.services.disposition_rules import ON_THE_SAMPLE, DispositionRefused
from inventory.services.dispositions import decide_disposition, decide_dispositions
from inventory.services.sampling.decisions import decide_batch
from tests import factories
from tests.inventory.services.sampling.cast import agreed, big_batch, drawn, later, measure

if TYPE_CHECKING:
    from inventory.models import Batch, User

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return factories.make_user(Role.OWNER)


@pytest.fixture
def inspector() -> User:
    return factories.make_user(Role.INSPECTOR)


def _undrawn(batch: Batch) -> list[Piece]:
    return list(batch.pieces.filter(drawn__isnull=True).order_by("number"))


def _release(piece: Piece, by: User) -> Disposition:
    return decide_disposition(piece=piece, decision="release", by=by, at=later(3))


def test_an_inspector_releases_what_was_not_drawn_of_an_accepted_batch(owner: User, inspector: User) -> None:
    batch = big_batch(60)
    agreed(batch)
    measure(drawn(batch))
    undrawn = _undrawn(batch)
    with pytest.raises(DispositionRefused, match="was not drawn, and the sample has not decided its batch"):
        _release(undrawn[0], inspector)
    decide_batch(batch=batch, by=owner, at=later(1))
    made = decide_dispositions(pieces=undrawn, decision="release", by=inspector, at=later(2))
    assert {row.reason for row in made} == {ON_THE_SAMPLE}
    assert batch.pieces.filter(standing=Standing.RELEASE).count() == len(undrawn)


def test_what_a_refused_batch_left_unmeasured_is_not_released(owner: User, inspector: User) -> None:
    batch = big_batch(60)
    agreed(batch)
    measure(drawn(batch), out={1, 2})
    decide_batch(batch=batch, by=owner, at=later(1))
    piece = _undrawn(batch)[0]
    with pytest.raises(DispositionRefused, match="the sample refused its batch: measure it"):
        _release(piece, inspector)
    with pytest.raises(DispositionRefused, match="say why it is released all the same"):
        _release(piece, owner)
    factories.make_verdict(piece, shelf="in")
    assert _release(piece, inspector).reason == ""


def test_a_grave_defect_and_an_unmeasured_rework_hold_a_piece_that_was_not_drawn(
    owner: User, inspector: User
) -> None:
    batch = big_batch(60)
    agreed(batch)
    measure(drawn(batch))
    decide_batch(batch=batch, by=owner, at=later(1))
    torn, mended = _undrawn(batch)[:2]
    factories.make_defect(torn, severity="major")
    with pytest.raises(DispositionRefused, match="has a defect"):
        _release(torn, inspector)
    decide_disposition(piece=mended, decision="rework", reason="hook", by=owner, at=later(2))
    with pytest.raises(DispositionRefused, match="was not measured again after its rework"):
        _release(mended, inspector)


def test_the_bench_goes_through_the_sample_in_the_order_of_the_draw_and_stops_with_it(owner: User) -> None:
    batch = big_batch(60)
    agreed(batch)
    sample = drawn(batch)
    (waiting,) = batches_to_measure()
    first, second = (row.piece for row in sample.pieces[:2])
    assert (waiting.first, waiting.waiting, waiting.pieces) == (first.number, 20, 20)
    factories.make_verdict(first)
    assert next_piece_of(first) == second
    for row in sample.pieces[1:3]:
        factories.make_verdict(row.piece, shelf="out")
    assert next_piece_of(second) is None  # refused, whatever the rest shows
    bench = Client()
    bench.force_login(owner)
    page = bench.get(reverse("bench-finish", args=[first.number])).content.decode()
    assert f"No more pieces of batch {batch.label} are asked for" in page
    assert reverse("batch-sampling", args=[batch.number]) in page
    decide_batch(batch=batch, by=owner, at=later(1))
    assert next_piece_of(second) == sample.pieces[3].piece
    (waiting,) = batches_to_measure()
    assert waiting.waiting == 57
