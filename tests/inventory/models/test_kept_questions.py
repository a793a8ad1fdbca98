from __future__ import annotations

import threading

import pytest
from django.db import connection, transaction
from django.db.models import QuerySet

from inventory.models import Inspection, Reading, Shop
from inventory.models.kept_questions import KeptQuestion
from tests.factories import make_inspection, make_reading

pytestmark = pytest.mark.django_db


def worded(pk: int, number: int) -> QuerySet[Inspection]:
    return Inspection.objects.select_related("piece__batch__style", "instrument").filter(
        pk=pk, piece__number=number
    )


def test_a_kept_question_gives_the_rows_the_queryset_gives_however_often_it_is_asked() -> None:
    kept = KeptQuestion(worded, values=2)
    for _ in range(3):
        sitting = make_inspection()
        asked = (sitting.pk, sitting.piece.number)
        (mine,), (theirs,) = kept(*asked), worded(*asked)
        assert mine.__dict__.keys() == theirs.__dict__.keys()
        assert {k: v for k, v in vars(mine).items() if k != "_state"} == {
            k: v for k, v in vars(theirs).items() if k != "_state"
        }
        assert vars(mine.piece.batch.style).keys() == vars(theirs.piece.batch.style).keys()
        assert mine.piece.batch.style == theirs.piece.batch.style
        assert mine.instrument is None


def test_a_kept_question_finds_nothing_where_there_is_nothing() -> None:
    kept = KeptQuestion(worded, values=2)
    sitting = make_inspection()
    assert kept(sitting.pk, sitting.piece.number + 1) == []
    assert kept(10**30, sitting.piece.number) == []
    assert len(kept(sitting.pk, sitting.piece.number)) == 1


def test_a_kept_question_sees_what_was_written_since_it_was_first_asked() -> None:
    kept = KeptQuestion(lambda pk: Reading.objects.filter(inspection=pk), values=1)
    sitting = make_inspection()
    assert kept(sitting.pk) == []
    first = make_reading(sitting, side="L")
    second = make_reading(sitting, side="R")
    assert kept(sitting.pk) == [first, second]
    assert vars(kept(sitting.pk)[0])["taken_at"] == first.taken_at


def test_a_kept_question_is_one_statement_the_one_the_queryset_asks() -> None:
    kept = KeptQuestion(worded, values=2)
    with transaction.atomic():
        kept(7, 8)
        kept(9, 10)
    with connection.execute_wrapper(seen := Statements()):
        kept(1, 2)
        list(worded(1, 2))
    assert len(seen.asked) == 2
    assert seen.asked[0] == seen.asked[1]


def test_a_value_that_stands_in_two_places_is_refused() -> None:
    kept = KeptQuestion(
        lambda pk: Inspection.objects.filter(pk=pk) | Inspection.objects.filter(piece=pk), values=1
    )
    with pytest.raises(ValueError, match="one place of the question, not in 2"):
        kept(1)


def test_the_shop_is_asked_for_anew_each_time_and_in_each_thread() -> None:
    before = Shop.objects.current()
    Shop.objects.filter(pk=Shop.ONLY).update(name="Another name")
    assert Shop.objects.current().name == "Another name"
    assert Shop.objects.current() is not before
    assert Shop.objects.current().shelf_rule.as_rule() == before.shelf_rule.as_rule()


def test_each_thread_has_its_own_connection_and_words_the_question_for_it() -> None:
    kept = KeptQuestion(lambda pk: Shop.objects.filter(pk=pk), values=1)
    assert kept(Shop.ONLY)
    found: list[list[Shop]] = []

    def ask() -> None:
        found.append(kept(-1))
        connection.close()

    other = threading.Thread(target=ask)
    other.start()
    other.join()
    assert found == [[]]
    assert len(kept(Shop.ONLY)) == 1


class Statements:
    """Note every statement with its values."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, tuple[object, ...]]] = []

    def __call__(self, execute: object, sql: str, params: object, many: object, context: object) -> object:
        assert callable(execute)
        assert isinstance(params, list | tuple)
        self.asked.append((sql, tuple(params)))
        return execute(sql, params, many, context)
