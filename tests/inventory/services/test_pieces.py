"""Numbering pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from inventory.access import NotAllowed
from inventory.models import AuditRow, Piece, Shop
from inventory.services.pieces import CannotNumber, PieceCount, number_pieces
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from pytest_django import DjangoAssertNumQueries

pytestmark = pytest.mark.django_db


def _number(*counts: PieceCount, **fields: object) -> list[Piece]:
    if "batch" not in fields:
        fields["batch"] = factories.make_batch()
    return number_pieces(
        **{"counts": counts, "by": factories.make_user(), "at": NOW} | fields  # type: ignore[arg-type]
    )


def test_a_table_of_sizes_and_colours_becomes_numbered_pieces_on_hold() -> None:
    pieces = _number(
        PieceCount("22", 2, "black", "C1"), PieceCount("24", 1, "black", "C1"), PieceCount("24", 1, "red")
    )
    assert [(p.label, p.size_label, p.colour, p.carton, p.standing) for p in pieces] == [
        ("P000001", "22", "black", "C1", "hold"),
        ("P000002", "22", "black", "C1", "hold"),
        ("P000003", "24", "black", "C1", "hold"),
        ("P000004", "24", "red", "", "hold"),
    ]


def test_numbers_go_on_where_the_last_batch_stopped() -> None:
    _number(PieceCount("24", 3))
    assert _number(PieceCount("24", 1))[0].label == "P000004"


def test_the_number_of_statements_does_not_grow_with_the_pieces(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    batch, by = factories.make_batch(), factories.make_user()
    for count in (1, 90):
        with django_assert_num_queries(7):  # savepoint 2, sizes, shop 2, pieces, audit
            number_pieces(batch=batch, counts=[PieceCount("24", count)], by=by, at=NOW)


def test_a_size_the_spec_does_not_have_is_refused_whole() -> None:
    with pytest.raises(CannotNumber, match=r"Size '28' is not in spec .*, which has 22, 24, 26"):
        _number(PieceCount("24", 2), PieceCount("28", 1))
    assert not Piece.objects.exists()
    assert Shop.objects.current().last_piece_number == 0


@pytest.mark.parametrize("count", [0, -3])
def test_a_count_below_one_is_refused(count: int) -> None:
    with pytest.raises(CannotNumber, match=f"Size 24: {count} pieces is no count"):
        _number(PieceCount("24", count))


def test_an_empty_table_is_refused() -> None:
    with pytest.raises(CannotNumber, match="No pieces to number"):
        _number()


def test_more_pieces_than_a_shop_unpacks_at_once_are_taken_for_a_slip() -> None:
    with pytest.raises(CannotNumber, match="5001 pieces at once are more than 5000"):
        _number(PieceCount("24", 5001))


def test_a_colour_too_long_for_its_place_is_refused_by_name() -> None:
    with pytest.raises(CannotNumber, match=r"Colour 'x+' is longer than 40 characters"):
        _number(PieceCount("24", 1, "x" * 41))


def test_a_viewer_may_not_number() -> None:
    with pytest.raises(NotAllowed):
        _number(PieceCount("24", 1), by=factories.make_user("viewer"))


def test_numbering_leaves_one_audit_row_with_the_range() -> None:
    batch = factories.make_batch()
    _number(PieceCount("24", 3), batch=batch)
    row = AuditRow.objects.get()
    assert (row.deed, row.subject_type, row.subject_id) == ("number pieces", "batch", batch.pk)
    assert row.detail == {"first": 1, "last": 3, "count": 3}
