"""The screens of sampling, used as people use them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import BatchDecision, BatchSampling, SamplingScheme, SwitchingNote
from inventory.models.people import Role
from inventory.services.sampling.decisions import decide_batch
from inventory.services.sampling.draws import Drawn
from tests import factories
from tests.factories import NOW
from tests.inventory.services.sampling.cast import agreed, big_batch, drawn, measure

if TYPE_CHECKING:
    from django.test.client import _MonkeyPatchedWSGIResponse as Answer
    from pytest_django import DjangoAssertNumQueries

    from inventory.models import Batch

pytestmark = pytest.mark.django_db


def _client(role: str = Role.OWNER) -> Client:
    client = Client()
    client.force_login(factories.make_user(role))
    return client


def _page(batch: Batch, role: str = Role.VIEWER, **asked: str) -> str:
    answer = _client(role).get(reverse("batch-sampling", args=[batch.number]), asked)
    assert answer.status_code == 200
    return answer.content.decode()


def _set(client: Client, name: str, *args: str, **typed: str) -> Answer:
    usual = {
        "kind": "attributes",
        "level": "II",
        "stages": "single",
        "switching": "1989",
        "method": "s",
        "aql_major": "2.5",
        "aql_minor": "4.0",
        "reason": "mail of 3 March",
    }
    return client.post(reverse(name, args=args), usual | typed)


def test_the_owner_agrees_on_a_plan_and_the_page_of_a_batch_shows_it() -> None:
    batch = big_batch(120)
    maker = batch.delivery.maker
    answer = _set(_client(), "maker-sampling-set", maker.code)
    assert answer.status_code == 302
    page = _page(batch)
    assert "Letter" in page
    assert '<td data-label="Letter">F</td>' in page
    assert "120 pieces are more than the 50" in page
    assert "op-line-2" in page
    assert "Level III" in page
    assert "By risk: 1 % bad passes 95 times in 100" in page
    assert "What becomes of it?" in page


def test_what_becomes_of_a_batch_with_six_bad_pieces_is_answered_before_the_draw() -> None:
    batch = big_batch(120)
    agreed(batch)
    # Independently: scipy.stats.hypergeom.cdf(1, 120, 6, 20) = 0.7386.
    assert "Major: A batch of 120 with 6 bad pieces passes 74 times in 100." in _page(batch, bad="6")
    refused = _page(batch, bad="121")
    assert "121 bad pieces are more than the 120 of the batch. Give 0 to 120." in refused


def test_what_cannot_be_agreed_on_is_said_at_its_box_and_the_rest_stays_typed() -> None:
    maker = factories.make_maker()
    answer = _set(_client(), "maker-sampling-set", maker.code, aql_major="3")
    page = answer.content.decode()
    assert "3, which the tables do not have. Take 2.5 or 4.0" in page
    assert "mail of 3 March" in page
    assert not SamplingScheme.objects.exists()


def test_an_inspector_draws_measures_and_the_owner_decides() -> None:
    batch = big_batch(120)
    agreed(batch)
    inspector, owner = _client(Role.INSPECTOR), _client()
    draw = reverse("sampling-draw", args=[batch.number])
    refused = inspector.post(draw, {"seed": "lucky", "kind": "spread"})
    assert "is no whole number" in refused.content.decode()
    answer = inspector.post(draw, {"seed": "77", "kind": "random"})
    assert answer.headers["Location"] == reverse("sampling-list", args=[batch.number])
    listed = inspector.get(answer.headers["Location"]).content.decode()
    first = batch.sampling.drawn.order_by("position")[0].piece
    assert first.label in listed
    assert "Drawn 20 of 120 pieces with seed 77" in listed
    assert f"Measure {first.label}" in _page(batch, Role.INSPECTOR)
    measure(Drawn(batch.sampling, list(batch.sampling.drawn.all())), out={1, 2})
    page = _page(batch, Role.OWNER)
    assert "Decided: to be refused" in page
    assert "Of 120 pieces 20 were measured and 2 are out beyond doubt" in page
    decide = reverse("sampling-decide", args=[batch.number])
    assert inspector.post(decide).status_code == 403
    assert owner.post(decide).status_code == 302
    assert BatchDecision.objects.get().outcome == "refused"
    assert "measure the 100 pieces left" in _page(batch)
    again = owner.post(decide, follow=True).content.decode()
    assert "refused already. Its decision stays." in again


def test_a_draw_is_not_repeated() -> None:
    batch = big_batch(120)
    agreed(batch)
    drawn(batch)
    answer = _client().post(reverse("sampling-draw", args=[batch.number]), {"kind": "random"}, follow=True)
    assert "is drawn already" in answer.content.decode()
    assert BatchSampling.objects.count() == 1


def test_without_an_agreement_the_page_says_what_to_do() -> None:
    page = _page(big_batch(120), Role.OWNER)
    assert "No sampling was agreed on" in page
    assert "Set the sampling of" in page


def test_the_history_says_how_strictly_and_why_and_takes_notes() -> None:
    owner = factories.make_user(Role.OWNER)
    maker, spec = factories.make_maker(), factories.make_spec()
    batches = [big_batch(60, maker=maker, spec=spec, days=day) for day in range(2)]
    agreed(batches[0])
    for batch in batches:
        sample = drawn(batch)
        measure(sample, out={1, 2})
        decide_batch(batch=batch, by=owner, at=NOW)
    address = reverse("style-sampling", args=[maker.code, spec.style.code])
    client = _client()
    page = client.get(address).content.decode()
    assert "<strong>tightened</strong>. 2 of 2 batches in a row were refused" in page
    assert client.post(address, {"kind": "irregular", "note": "new cutter"}).status_code == 302
    assert SwitchingNote.objects.get().note == "new cutter"
    assert "new cutter" in client.get(address).content.decode()
    assert _client(Role.INSPECTOR).post(address, {"kind": "steady", "note": "so"}).status_code == 403


def test_a_point_is_judged_by_variables_from_mean_and_spread() -> None:
    batch = big_batch(60)
    maker, style = batch.delivery.maker, batch.style
    point = style.points.get(code="CF")
    answer = _set(
        _client(),
        "style-sampling-set",
        maker.code,
        style.code,
        kind="variables",
        aql_minor="",
        point=str(point.pk),
    )
    assert answer.status_code == 302, answer.content.decode()
    page = _page(batch)
    # MIL-STD-414, Table A-2 and B-3: 41 to 65 pieces at level IV is letter E, 7 readings.
    assert "7 pieces, judged by CF alone" in page


def test_the_page_asks_the_database_as_often_for_a_large_batch_as_for_a_small_one(
    django_assert_max_num_queries: DjangoAssertNumQueries,
) -> None:
    for pieces in (60, 400):
        batch = big_batch(pieces)
        agreed(batch)
        measure(drawn(batch), upto=5)
        client = _client(Role.VIEWER)
        client.get(reverse("batch-sampling", args=[batch.number]))
        with django_assert_max_num_queries(16):
            client.get(reverse("batch-sampling", args=[batch.number]))
