"""What is known of a maker, how sure each verdict is, what a rule does overall, and what repeats would do."""

from __future__ import annotations

import random
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from inventory.calc.conformity import Verdict
from inventory.calc.plan import Aspect
from inventory.models import PieceVerdict, Shop
from inventory.queries.global_risks import global_risks
from inventory.queries.maker_spreads import LEAST_PIECES, spreads_before, spreads_with
from inventory.queries.settling import first_to_settle
from inventory.queries.verdict_risks import risks_of, worst_of
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import MM, NOW

if TYPE_CHECKING:
    from django.test import Client
    from pytest_django import DjangoAssertNumQueries

    from inventory.models import Batch, User

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return factories.make_user("owner")


def _judged(batch: Batch, owner: User, off_mm: dict[tuple[str, str], float] | None = None) -> PieceVerdict:
    piece = factories.make_piece(batch)
    inspection = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(inspection, off_mm or {})
    judge_inspection(inspection=inspection, by=owner, at=NOW)
    return PieceVerdict.objects.select_related("basis").get(piece=piece)


def _two_batches() -> tuple[Batch, Batch]:
    first = factories.make_batch()
    delivery = factories.make_delivery(maker=first.delivery.maker)
    return first, factories.make_batch(delivery=delivery, spec=first.spec)


def test_nothing_is_said_of_a_maker_before_enough_pieces_are_known(owner: User) -> None:
    first, second = _two_batches()
    for _ in range(LEAST_PIECES - 1):
        _judged(first, owner)
    known = spreads_before(second)["WA", Aspect.LEFT]
    assert known.pieces == LEAST_PIECES - 1
    assert known.around(330 * MM) is None
    found = risks_of(_judged(second, owner), spreads_before(second))
    assert {risk.with_maker for risk in found} == {None}
    assert found[0].of_maker.startswith("not enough known: 7 of the 8 pieces")


def test_our_own_reading_is_taken_out_of_the_makers_spread(owner: User) -> None:
    """True SD 4 mm, read with u = 1.5 mm: the spread seen is √(4² + 1.5²) mm, the true one comes back."""
    first, second = _two_batches()
    draw = random.Random(7)
    for _ in range(60):
        _judged(first, owner, {("WA", "L"): draw.gauss(3, (4**2 + 1.5**2) ** 0.5)})
    known = spreads_before(second)["WA", Aspect.LEFT]
    assert known.sd_nm == pytest.approx(4 * MM, rel=0.25)
    assert known.mean_nm == pytest.approx(3 * MM, abs=1.7 * MM)


def test_pieces_that_differ_no_more_than_reading_explains_say_nothing(owner: User) -> None:
    first, second = _two_batches()
    for _ in range(LEAST_PIECES):
        _judged(first, owner)
    known = spreads_before(second)["WA", Aspect.LEFT]
    assert (known.pieces, known.sd_nm, known.around(330 * MM)) == (LEAST_PIECES, None, None)


def test_a_later_batch_and_another_maker_say_nothing_beforehand(owner: User) -> None:
    first, second = _two_batches()
    _judged(second, owner)
    other = factories.make_batch(spec=first.spec)
    _judged(other, owner)
    assert spreads_before(first) == {}
    assert ("WA", Aspect.LEFT) in spreads_with(second)
    assert spreads_with(second)["WA", Aspect.LEFT].pieces == 1


def test_what_is_known_of_a_maker_moves_the_chance_of_a_wrong_verdict(owner: User) -> None:
    """A maker who is close: a reading out is more likely a misreading than it seems."""
    first, second = _two_batches()
    draw = random.Random(3)
    for _ in range(40):
        _judged(first, owner, {("CF", "L"): draw.gauss(3, 2), ("CF", "R"): draw.gauss(3, 2)})
    verdict = _judged(second, owner, {("CF", "L"): 8, ("CF", "R"): 8})
    found = {(risk.code, risk.finding.aspect): risk for risk in risks_of(verdict, spreads_before(second))}
    risk = found["CF", Aspect.LEFT]
    assert risk.alone.verdict is Verdict.OUT
    assert risk.alone.wrong is not None
    assert risk.with_maker is not None
    assert risk.with_maker.wrong is not None
    assert risk.with_maker.wrong > risk.alone.wrong
    # A piece far off, of another size perhaps, is none of those: their spread says nothing of it.
    verdict = _judged(second, owner, {("CF", "L"): 25, ("CF", "R"): 25})
    far = {(risk.code, risk.finding.aspect): risk for risk in risks_of(verdict, spreads_before(second))}
    assert far["CF", Aspect.LEFT].with_maker is None
    assert far["CF", Aspect.LEFT].of_maker.endswith("earlier batches, whose spread does not reach so far")


def test_the_worst_point_is_the_one_the_verdict_names(owner: User) -> None:
    verdict = _judged(factories.make_batch(), owner, {("WA", "L"): 20})
    worst = worst_of(risks_of(verdict))
    assert worst is not None
    assert (worst.code, worst.finding.aspect.value) == (verdict.worst_point, verdict.worst_aspect)
    assert worst.known_from == ""


def test_spreads_take_two_statements(owner: User, django_assert_num_queries: DjangoAssertNumQueries) -> None:
    first, second = _two_batches()
    for _ in range(3):
        _judged(first, owner)
    with django_assert_num_queries(2):
        spreads_before(second)
    for _ in range(6):
        _judged(first, owner)
    with django_assert_num_queries(2):
        spreads_before(second)


def test_overall_risks_are_shares_of_one_whole(owner: User) -> None:
    batch = factories.make_batch()
    draw = random.Random(5)
    for _ in range(20):
        _judged(batch, owner, {("WA", "L"): draw.gauss(0, 5), ("WA", "R"): draw.gauss(0, 5)})
    found = global_risks(batch, size_label=_a_size(batch), shop=Shop.objects.current())
    waist = next(risk for risk in found if (risk.code, risk.aspect) == ("WA", Aspect.LEFT))
    assert waist.shelf is not None
    assert waist.claim is not None
    assert waist.shelf.called_in + waist.shelf.called_out + waist.shelf.close == pytest.approx(1)
    assert waist.claim.wrongly_out < waist.shelf.wrongly_out, "the claim rule asks for more proof"


def _a_size(batch: Batch) -> str:
    return batch.spec.sizes.values_list("label", flat=True)[0]


def test_a_close_point_is_told_what_settles_it_and_in_money_where_the_shop_states_it(owner: User) -> None:
    verdict = _judged(factories.make_batch(), owner, {("CF", "L"): 4, ("CF", "R"): 4})
    found = first_to_settle(risks_of(verdict), shop=Shop.objects.current())
    assert found is not None
    risk, settling = found
    assert risk.code == "CF"
    assert "settle it with a chance of" in settling.sentence
    assert settling.value_of_it == "Each reading takes about 0.5 min."
    Shop.objects.update(cost_per_hour=Decimal(30), cost_of_wrong_in=Decimal(60), cost_of_wrong_out=Decimal(9))
    found = first_to_settle(risks_of(verdict), shop=Shop.objects.current())
    assert found is not None
    assert "on average" in found[1].value_of_it


def test_a_clear_piece_has_nothing_to_settle(owner: User) -> None:
    verdict = _judged(factories.make_batch(), owner)
    assert first_to_settle(risks_of(verdict), shop=Shop.objects.current()) is None


def test_the_page_of_a_piece_says_how_sure_its_verdict_is(owner: User, client: Client) -> None:
    client.force_login(owner)
    verdict = _judged(factories.make_batch(), owner, {("WA", "L"): 20})
    page = client.get(reverse("piece", args=[verdict.piece.number])).content.decode()
    assert "Out of tolerance: the chance that this is wrong is less than 0.1 %." in page
    assert "How sure each verdict is" in page


def test_the_risks_of_a_batch_say_when_too_little_is_known(owner: User, client: Client) -> None:
    client.force_login(owner)
    batch = factories.make_batch()
    _judged(batch, owner)
    page = client.get(reverse("batch-risks", args=[batch.number])).content.decode()
    assert "not enough known: 8 judged pieces are needed" in page
