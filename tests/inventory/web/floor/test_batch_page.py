"""The page of a batch: constant statements, its map, its filters; the page of a piece."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Batch, Piece, Shop
from inventory.queries import verdict_cells
from inventory.services.audit import leave_row
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from collections.abc import Mapping

    from django.test import Client

pytestmark = pytest.mark.django_db


def _judged(batch: Batch, off_mm: Mapping[tuple[str, str], float] | None = None, **fields: object) -> Piece:
    piece = factories.make_piece(batch, **fields)  # type: ignore[arg-type]  # fields of the factory
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting, off_mm)
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    return piece


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(factories.make_user("owner"))
    return client


def _statements(client: Client, url: str) -> int:
    with CaptureQueriesContext(connection) as seen:
        assert client.get(url).status_code == 200
    return len(seen)


def test_the_batch_page_takes_as_many_statements_for_5_pieces_as_for_50(owner: Client) -> None:
    batch = factories.make_batch()
    url = reverse("batch", args=[batch.number])
    for _ in range(5):
        _judged(batch)
    _statements(owner, url)  # plans and session are in memory from here on
    verdict_cells.forget_kept()
    few, again = _statements(owner, url), _statements(owner, url)
    for _ in range(45):
        _judged(batch)
    assert _statements(owner, url) == few <= 25
    assert _statements(owner, url) == again < few  # nothing was judged since


@pytest.mark.parametrize("name", ["home", "deliveries", "batches", "pieces"])
def test_a_list_takes_as_many_statements_for_few_rows_as_for_many(owner: Client, name: str) -> None:
    _judged(factories.make_batch())
    _statements(owner, reverse(name))
    few = _statements(owner, reverse(name))
    for _ in range(5):
        _judged(factories.make_batch())
    assert _statements(owner, reverse(name)) == few <= 25


def test_the_piece_page_takes_as_many_statements_after_more_sittings(owner: Client) -> None:
    piece = _judged(factories.make_batch())
    url = reverse("piece", args=[piece.number])
    _statements(owner, url)
    few = _statements(owner, url)
    for _ in range(2):
        factories.measure_all(factories.make_inspection(piece))
    assert _statements(owner, url) == few <= 25


def test_the_map_says_verdict_side_and_deviation(owner: Client) -> None:
    batch = factories.make_batch()
    _judged(batch, {("WA", "L"): 20, ("WA", "R"): 19})
    text = owner.get(reverse("batch", args=[batch.number])).content.decode()
    assert '<td class="out over-3"><b>out </b><i>L</i> +20.0</td>' in text


def test_the_map_is_in_the_shops_unit(owner: Client) -> None:
    batch = factories.make_batch()
    _judged(batch, {("WA", "L"): 25.4, ("WA", "R"): 25.4})
    Shop.objects.update(display_unit="in", fraction_denominator=8)
    assert "<i>L</i> +1<" in owner.get(reverse("batch", args=[batch.number])).content.decode()


def test_how_the_shop_shows_inches_makes_no_difference_to_its_heaps(owner: Client) -> None:
    batch = factories.make_batch()
    for number in range(24):
        sitting = factories.make_inspection(factories.make_piece(batch))
        mark_nm = (14 * 16 + number % 5) * 1_587_500
        factories.make_reading(sitting, unit="in", length_nm=mark_nm, typed=str(number))
    found = []
    for denominator in (8, 16, None):
        Shop.objects.update(display_unit="in", fraction_denominator=denominator)
        found.append(owner.get(reverse("batch", args=[batch.number])).context["heaps"])
    assert found[0][0].found.readings == 24
    assert found[0] == found[1] == found[2]


def test_the_map_can_keep_one_verdict_and_put_the_worst_first(owner: Client) -> None:
    batch = factories.make_batch()
    good, bad = _judged(batch), _judged(batch, {("WA", "L"): 20, ("WA", "R"): 20})
    waiting = factories.make_piece(batch)
    url = reverse("batch", args=[batch.number])

    def labels(**asked: str) -> list[str]:
        return [line.label for line in owner.get(url, asked).context["page"].object_list]

    assert labels() == [good.label, bad.label, waiting.label]
    assert labels(order="worst") == [bad.label, good.label, waiting.label]
    assert labels(show="out") == [bad.label]
    assert labels(show="none") == [waiting.label]
    assert labels(show="purple") == labels()


def test_a_long_map_is_paged_and_can_be_had_whole(owner: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.web.floor.batches.MAP_ROWS", 2)
    batch = factories.make_batch()
    for _ in range(3):
        factories.make_piece(batch)
    url = reverse("batch", args=[batch.number])
    assert len(owner.get(url).context["page"].object_list) == 2
    assert len(owner.get(url, {"rows": "all"}).context["page"].object_list) == 3


def test_a_batch_without_pieces_says_what_to_do(owner: Client) -> None:
    batch = factories.make_batch()
    text = owner.get(reverse("batch", args=[batch.number])).content.decode()
    assert "No piece numbered yet" in text
    assert reverse("pieces-new", args=[batch.number]) in text


def test_the_piece_page_names_the_size_it_fits_and_the_margin(owner: Client) -> None:
    batch = factories.make_batch()
    off = {(code, side): step for code, step in (("UB", 25), ("WA", 25), ("CF", 5)) for side in "LR"}
    piece = _judged(batch, off, size_label="24")
    text = owner.get(reverse("piece", args=[piece.number])).content.decode()
    assert "Wrong size suspected" in text
    assert "within all limits of size <strong>26</strong>, with 5 mm to spare" in text


def test_a_corrected_reading_is_struck_through_with_its_reason(owner: Client) -> None:
    sitting = factories.make_inspection()
    wrong = factories.make_reading(sitting, mm=366)
    factories.make_reading(sitting, mm=356, corrects=wrong, reason="read at the wrong height")
    text = owner.get(reverse("piece", args=[sitting.piece.number])).content.decode()
    assert "<s>366</s>" in text
    assert "Corrected by" in text
    assert "read at the wrong height" in text


def test_what_people_typed_is_shown_as_text_and_never_as_markup(owner: Client) -> None:
    piece = factories.make_piece(colour="<script>alert(1)</script>", carton="<b>")
    factories.make_defect(piece, kind="<img src=x onerror=alert(1)>")
    for url in (
        reverse("piece", args=[piece.number]),
        reverse("pieces"),
        reverse("batch-defects", args=[piece.batch.number]),
    ):
        text = owner.get(url).content.decode()
        assert "<script>alert" not in text
        assert "<img src=x" not in text


def test_a_piece_too_close_to_call_is_offered_at_the_bench_first_everywhere(owner: Client) -> None:
    batch = factories.make_batch()
    close = _judged(batch, {("WA", "L"): 6, ("WA", "R"): 6})
    again = f"{reverse('bench-piece', args=[close.number])}?again=1"
    for url in (
        reverse("piece", args=[close.number]),
        reverse("batch", args=[batch.number]),
        reverse("pieces") + "?standing=hold&shelf=close",
    ):
        assert f'href="{again}"' in owner.get(url).content.decode(), url
    page = owner.get(reverse("piece", args=[close.number])).content.decode()
    assert f'<a class="button" href="{again}">Measure again</a>' in page
    Piece.objects.update(standing="second")  # decided without: nothing urges any more
    page = owner.get(reverse("piece", args=[close.number])).content.decode()
    assert f'<a class="button-quiet" href="{again}">Measure again</a>' in page


def test_a_viewer_is_not_led_to_the_bench(client: Client) -> None:
    batch = factories.make_batch()
    close, waiting = _judged(batch, {("WA", "L"): 6, ("WA", "R"): 6}), factories.make_piece(batch)
    client.force_login(factories.make_user("viewer"))
    text = client.get(reverse("batch", args=[batch.number])).content.decode()
    assert "/bench/P" not in text
    assert reverse("piece", args=[close.number]) in text
    assert reverse("piece", args=[waiting.number]) in text


def test_the_piece_page_leaves_the_readings_to_their_sittings(owner: Client) -> None:
    sitting = factories.make_inspection()
    leave_row(who=sitting.opened_by, deed="record reading", subject=factories.make_reading(sitting), at=NOW)
    leave_row(who=sitting.opened_by, deed="open inspection", subject=sitting, at=NOW)
    rows = owner.get(reverse("piece", args=[sitting.piece.number])).context["history"]
    assert [row.deed for row in rows] == ["open inspection"]
