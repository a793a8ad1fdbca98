"""A tape's page, its check, and what follows from one that found it wrong."""

from __future__ import annotations

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory import tasks
from inventory.models import Instrument, Job, PieceVerdict, TapeCheck
from inventory.models.people import Role
from inventory.services.judging import judge_inspection
from tests.factories import (
    make_batch,
    make_inspection,
    make_instrument,
    make_piece,
    make_tape_check,
    make_user,
    measure_all,
)

pytestmark = pytest.mark.django_db

TYPED = {
    "near_rule": "300", "near_1": "300.5", "near_2": "", "near_3": "",
    "far_rule": "800", "far_1": "800", "far_2": "800.5", "far_3": "",
    "allowed": "2 mm", "against": "", "note": "",
}  # fmt: skip


def client_of(role: str = Role.INSPECTOR) -> Client:
    client = Client()
    client.force_login(make_user(role))
    return client


def text_of(client: Client, name: str, *args: object) -> str:
    return client.get(reverse(name, args=args)).content.decode()


def test_a_check_is_typed_in_and_its_result_told_in_words() -> None:
    tape, client = make_instrument(number="T1"), client_of()
    answer = client.post(reverse("tape-check", args=[tape.pk]), TYPED, follow=True)
    check = TapeCheck.objects.get()
    assert answer.redirect_chain == [(reverse("tape-check-result", args=[tape.pk, check.pk]), 302)]
    page = answer.content.decode()
    assert "Tape T1: good" in page
    assert "is corrected by" in page
    assert check.readings.count() == 3
    listed = text_of(client, "instrument", tape.pk)
    assert '<svg class="run-chart"' in listed
    assert "good" in listed


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"near_1": "400", "far_1": "900", "far_2": ""}, "not a tape error"),
        ({"far_rule": "300", "far_1": "300", "far_2": ""}, "too little to tell stretch"),
        ({"far_rule": "", "far_1": ""}, "required"),
        ({"near_1": "abc"}, "abc"),
        ({"allowed": "0 mm"}, "above zero"),
    ],
)
def test_a_check_that_is_none_is_refused_in_words_and_keeps_what_was_typed(
    changed: dict[str, str], says: str
) -> None:
    tape = make_instrument()
    answer = client_of().post(reverse("tape-check", args=[tape.pk]), TYPED | changed)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert says in page
    assert 'value="800"' in page or 'value="300"' in page
    assert not TapeCheck.objects.exists()


def test_a_tape_of_a_class_is_not_asked_what_it_may_be_off() -> None:
    page = text_of(client_of(), "tape-check", make_instrument(accuracy_class="II").pk)
    assert "It may be off by" not in page


def test_home_and_the_door_of_the_bench_say_which_tape_is_due_with_one_step_to_it() -> None:
    tape = make_instrument(number="T1", check_every_days=1)
    make_instrument(number="T2", check_every_days=1, kind=Instrument.Kind.RULE)
    make_instrument(number="T3", check_every_days=1, retired_on=timezone.localdate())
    make_instrument(number="T4")
    client = client_of()
    for name in ("home", "bench"):
        page = text_of(client, name)
        assert "Tape T1 is due for its check" in page
        assert reverse("tape-check", args=[tape.pk]) in page
        assert not any(f"{other} is due" in page for other in ("T2", "T3", "T4"))
    make_tape_check(tape, at=timezone.now())
    assert "is due" not in text_of(client, "bench")
    make_tape_check(tape, near_mm=8, far_mm=8, at=timezone.now())
    assert "Tape T1 was found wrong" in text_of(client, "bench")


def found_wrong() -> tuple[Instrument, PieceVerdict]:
    tape = make_instrument(number="T7")
    inspection = make_inspection(make_piece(make_batch()), instrument=tape)
    measure_all(inspection, {("WA", "L"): -9, ("WA", "R"): -9})
    verdict = judge_inspection(inspection=inspection, by=inspection.opened_by, at=inspection.opened_at)
    make_tape_check(tape, near_mm=-8, far_mm=-8, at=timezone.now())
    return tape, verdict


def test_pages_of_the_piece_the_batch_and_the_tape_say_what_rests_on_a_wrong_tape() -> None:
    tape, verdict = found_wrong()
    piece, client = verdict.piece, client_of()
    for name, args in (("piece", (piece.number,)), ("batch", (piece.batch.number,))):
        assert "ead with tape T7, found wrong on" in text_of(client, name, *args)
    page = text_of(client, "instrument", tape.pk)
    assert piece.batch.label in page
    assert "The owner can have them judged again" in page


def test_judging_again_is_one_step_for_the_owner_and_says_what_changed() -> None:
    tape, verdict = found_wrong()
    client = client_of(Role.OWNER)
    assert "Judge them again" in text_of(client, "instrument", tape.pk)
    client.post(reverse("tape-rejudge", args=[tape.pk]))
    assert "Being judged again" in text_of(client, "instrument", tape.pk)
    tasks.execute(Job.objects.get().pk)
    page = text_of(client, "instrument", tape.pk)
    assert "1 piece judged again" in page
    assert verdict.piece.label in page
    piece = text_of(client, "piece", verdict.piece.number)
    assert "the middle of what it may have been off" in piece
    assert "Judged again since" in piece
    again = client.post(reverse("tape-rejudge", args=[tape.pk]), follow=True)
    assert "judged again since" in again.content.decode()


def test_the_page_of_a_tape_costs_the_same_however_many_checks(
    django_assert_max_num_queries: pytest.FixtureRequest,
) -> None:
    tape, client, by = make_instrument(), client_of(Role.OWNER), make_user()
    for number in range(6):
        make_tape_check(tape, by=by, at=timezone.now() - dt.timedelta(days=number))
    with django_assert_max_num_queries(10):  # type: ignore[operator]  # pytest-django's own fixture
        text_of(client, "instrument", tape.pk)


def test_the_owner_states_class_and_uncertainty_of_a_tape() -> None:
    tape, client = make_instrument(), client_of(Role.OWNER)
    boxes = {
        "number": tape.number, "kind": "tape", "description": "", "division_nm": "1", "accuracy_class": "II",
        "zero_at_end": "on", "stated_u_nm": "", "check_every_days": "7", "in_use_since": "",
    }  # fmt: skip
    client.post(reverse("instrument-edit", args=[tape.pk]), boxes)
    tape.refresh_from_db()
    assert (tape.accuracy_class, tape.zero_at_end, tape.check_every_days) == ("II", True, 7)
    page = client.post(
        reverse("instrument-edit", args=[tape.pk]), boxes | {"stated_u_nm": "20 mm"}
    ).content.decode()
    assert "from 0 to 10 mm" in page
