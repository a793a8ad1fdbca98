"""Pages of a list: complete, without repeats, whatever happens while a program turns them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from rest_framework.test import APIClient

from inventory.models import Piece
from inventory.models.pieces import Standing
from tests.factories import make_batch, make_piece
from tests.inventory.api.cast import Json, client_of, problem

pytestmark = pytest.mark.django_db


def pages(client: APIClient, address: str) -> Iterator[list[Json]]:
    following: str | None = address
    while following:
        page = client.get(following).json()
        yield page["results"]
        following = page["next"]


def test_following_next_shows_every_row_once() -> None:
    batch = make_batch()
    labels = [make_piece(batch).label for _ in range(7)]
    shown = list(pages(client_of(), "/api/v1/pieces/?rows=3"))
    assert [len(page) for page in shown] == [3, 3, 1]
    assert [piece["label"] for page in shown for piece in page] == labels


def test_a_full_last_page_has_no_next() -> None:
    batch = make_batch()
    for _ in range(4):
        make_piece(batch)
    assert [len(page) for page in pages(client_of(), "/api/v1/pieces/?rows=2")] == [2, 2]


def test_rows_that_leave_the_filter_while_pages_are_turned_take_none_with_them() -> None:
    batch = make_batch()
    labels = [make_piece(batch).label for _ in range(6)]
    seen = []
    for page in pages(client_of(), "/api/v1/pieces/?standing=hold&rows=2"):
        seen += [piece["label"] for piece in page]
        Piece.objects.filter(number__in=[int(piece["label"][1:]) for piece in page]).update(
            standing=Standing.RELEASE
        )
    assert seen == labels


@pytest.mark.parametrize(
    ("asked", "wrong"),
    [
        ("rows=0", ["rows"]),
        ("rows=501", ["rows"]),
        ("rows=many", ["rows"]),
        ("after=-1", ["after"]),
        ("after=9223372036854775808", ["after"]),
        ("after=x&rows=x", ["after", "rows"]),
    ],
)
def test_a_page_that_cannot_be_is_refused_by_name(asked: str, wrong: list[str]) -> None:
    body = problem(client_of().get(f"/api/v1/pieces/?{asked}"), 400)
    assert [entry["parameter"] for entry in body["errors"]] == wrong


def test_a_page_holds_500_rows_at_most() -> None:
    batch = make_batch()
    Piece.objects.bulk_create(
        Piece(number=900_000 + n, batch=batch, size_label="24", created_at=batch.created_at)
        for n in range(501)
    )
    assert [len(page) for page in pages(client_of(), "/api/v1/pieces/?rows=500")] == [500, 1]
