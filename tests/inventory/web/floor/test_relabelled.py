"""A re-labelled piece that was not measured since: it is to be measured again, whatever was found before."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from inventory.queries.batch_todo import batch_todo
from inventory.queries.batch_verdicts import batch_picture
from inventory.queries.batches import counts_of
from inventory.queries.home import held_by_verdict
from inventory.queries.pieces import pieces_matching
from inventory.services.dispositions import decide_disposition
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from django.test import Client

    from inventory.models import Piece

pytestmark = pytest.mark.django_db


@pytest.fixture
def piece(client: Client) -> Piece:
    """Judged as 24, out, 26 suspected; then re-labelled 26."""
    owner = factories.make_user("owner")
    client.force_login(owner)
    piece = factories.make_piece(size_label="24")
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.make_verdict(
        inspection=sitting, shelf="out", size_suspected=True, fits_size="26", size_margin_nm=1
    )
    decide_disposition(piece=piece, decision="relabel", by=owner, at=NOW, new_size_label="26")
    return piece


def _measure(piece: Piece) -> None:
    sitting = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(sitting)
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)


def test_home_names_it_as_to_measure_again_until_it_is(client: Client, piece: Piece) -> None:
    assert held_by_verdict() == {"again": 1}
    page = client.get(reverse("home")).content.decode()
    assert "1 re-labelled piece to measure again" in page
    assert f"{reverse('pieces')}?shelf=again" in page
    _measure(piece)
    assert not held_by_verdict()


def test_put_on_hold_it_still_waits_for_the_bench_not_for_a_decision(piece: Piece) -> None:
    owner = factories.make_user("owner")
    decide_disposition(piece=piece, decision="hold", by=owner, at=NOW)
    assert held_by_verdict() == {"again": 1}


def test_what_was_decided_otherwise_since_waits_no_more(piece: Piece) -> None:
    owner = factories.make_user("owner")
    decide_disposition(piece=piece, decision="second", reason="as it is", by=owner, at=NOW)
    assert not held_by_verdict()
    assert not pieces_matching(shelf="again")


def test_the_batch_says_it_is_to_be_measured_again_and_by_which_size_it_was_judged(
    client: Client, piece: Piece
) -> None:
    todo = batch_todo(piece.batch, batch_picture(piece.batch).lines)
    assert todo.to_measure_again.first == (piece.label,)
    assert not todo.is_empty
    assert (todo.out.count, todo.wrong_size.count) == (0, 0)
    page = client.get(reverse("batch", args=[piece.batch.number])).content.decode()
    assert f"{reverse('bench-piece', args=[piece.number])}?again=1" in page
    assert "as size 24" in page
    assert "fits 26" not in page
    _measure(piece)
    assert not batch_todo(piece.batch, batch_picture(piece.batch).lines).to_measure_again.count


def test_the_counts_of_its_batch_say_so_instead_of_its_old_verdict(client: Client, piece: Piece) -> None:
    batch = piece.batch
    other = factories.make_piece(batch)
    factories.make_verdict(other, shelf="out")
    factories.make_piece(batch)
    counts = counts_of([batch.pk])[batch.pk]
    assert counts.shelf == counts.claim == {"again": 1, "out": 1, "": 1}
    assert (counts.pieces, counts.judged, counts.to_judge, counts.to_measure) == (3, 1, 1, 2)
    url = reverse("batch", args=[batch.number])
    page = client.get(url)
    assert "<dt>to measure again</dt><dd>1</dd>" in page.content.decode()
    assert "1 out of tolerance, 2 not judged yet" in page.content.decode()
    for show, numbers in (("again", [piece.number]), ("out", [other.number])):
        shown = client.get(url, {"show": show}).context["page"].object_list
        assert [line.number for line in shown] == numbers, show
    _measure(piece)
    assert counts_of([batch.pk])[batch.pk].shelf["again"] == 0


def test_what_was_decided_otherwise_since_counts_by_its_verdict(piece: Piece) -> None:
    owner = factories.make_user("owner")
    decide_disposition(piece=piece, decision="second", reason="as it is", by=owner, at=NOW)
    assert counts_of([piece.batch_id])[piece.batch_id].shelf == {"out": 1}


def test_on_hold_it_is_not_among_those_to_decide_by_its_old_verdict(client: Client, piece: Piece) -> None:
    owner = factories.make_user("owner")
    decide_disposition(piece=piece, decision="hold", by=owner, at=NOW)
    url = reverse("batch-dispositions", args=[piece.batch.number])
    assert client.get(url).context["shelf"] == "again"
    for shelf, pieces in (("out", []), ("again", [piece])):
        answer = client.get(url, {"shelf": shelf})
        assert answer.context["pieces"] == pieces
        assert "To measure again (1)" in answer.content.decode()
    assert list(pieces_matching(shelf="out")) == []


def test_the_list_of_pieces_finds_it_with_a_link_to_the_bench(client: Client, piece: Piece) -> None:
    factories.make_verdict(shelf="out")
    answer = client.get(reverse("pieces"), {"shelf": "again"})
    assert list(answer.context["page"].object_list) == [piece]
    page = answer.content.decode()
    assert "as size 24" in page
    assert "fits 26" not in page
    assert f"{reverse('bench-piece', args=[piece.number])}?again=1" in page


def test_its_page_asks_for_new_readings_and_suspects_no_wrong_size(client: Client, piece: Piece) -> None:
    page = client.get(reverse("piece", args=[piece.number])).content.decode()
    assert "Next: measure it again." in page
    assert "Wrong size suspected" not in page


def test_no_other_size_is_proposed_once_the_label_was_changed(client: Client, piece: Piece) -> None:
    form = client.get(reverse("disposition-new", args=[piece.number])).context["form"]
    assert form.initial["new_size_label"] == ""
