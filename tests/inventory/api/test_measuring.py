"""Measuring through the API: sittings, readings stored exactly once, slip questions, verdicts."""

from __future__ import annotations

import threading
import uuid
from decimal import Decimal

import pytest
from django.db import connections
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from inventory.models import Inspection, Piece, PieceVerdict, Reading
from inventory.models.inspections import Source
from inventory.models.people import Role
from tests.factories import (
    make_inspection,
    make_instrument,
    make_piece,
    make_user,
    make_verdict,
    measure_all,
)
from tests.inventory.api.cast import ROLES, Json, client_of, is_asked_to_sign_in, problem, stranger

pytestmark = pytest.mark.django_db

V1 = "/api/v1"


def reading(code: str = "WA", side: str = "L", typed: str = "355", **more: object) -> dict[str, object]:
    """What a program sends for a piece of size 24, whose half waist is 355 mm."""
    return {"code": code, "side": side, "typed": typed, "client_key": str(uuid.uuid4())} | more


def send(client: APIClient, sitting: Inspection | int, body: object, **headers: str) -> Json:
    pk = sitting if isinstance(sitting, int) else sitting.pk
    return client.post(f"{V1}/inspections/{pk}/readings/", body, headers=headers or None)


# --- sittings --------------------------------------------------------------------------------------------


def test_a_tape_out_of_use_measures_nothing_from_that_day_on() -> None:
    tape, sitting, client = make_instrument(retired_on="2026-03-02"), make_inspection(), client_of()
    body = {"instrument": tape.number}
    opening = client.post(f"{V1}/pieces/{sitting.piece.label}/inspections/", body)
    for answer in (
        opening,
        send(client, sitting, reading() | body),
        send(client, sitting, reading() | body | {"taken_at": "2026-03-02T12:00:00Z"}),
    ):
        assert (
            problem(answer, 422, says="out of use since 2026-03-02")["errors"][0]["pointer"] == "/instrument"
        )
    before = send(client, sitting, reading() | body | {"taken_at": "2026-03-01T12:00:00Z"})
    assert (before.status_code, before.json()["instrument"]) == (201, tape.number)


def test_a_piece_is_measured_from_opening_to_verdict() -> None:
    piece, tape, person = make_piece(), make_instrument(number="T-77"), make_user()
    client = client_of(user=person)
    sent = {"unit": "cm", "instrument": "t-77", "room_temperature_c": "21.5", "room_humidity_percent": 45}
    opened = client.post(f"{V1}/pieces/{piece.label}/inspections/", sent)
    assert opened.status_code == 201
    sitting = opened.json()
    assert (sitting["source"], sitting["unit"], sitting["instrument"]) == (Source.API, "cm", "T-77")
    assert (sitting["opened_by"], sitting["room_temperature_c"]) == (person.username, "21.5")
    walk = [
        (code, side, typed)
        for code, typed in (("UB", "40.5"), ("WA", "35.5"), ("CF", "30.5"))
        for side in "LR"
    ]
    answers = [send(client, sitting["id"], reading(code, side, typed)) for code, side, typed in walk]
    assert {answer.status_code for answer in answers} == {201}
    stored = answers[-1].json()
    assert stored["length"] == {"nm": 305_000_000, "mm": "305", "shown": "305 mm"}
    assert (stored["typed"], stored["unit"], stored["repeat"], stored["instrument"]) == (
        "30.5",
        "cm",
        1,
        "T-77",
    )
    assert stored["questions"] == []
    verdict = client.post(f"{V1}/inspections/{sitting['id']}/finish/")
    assert verdict.status_code == 200
    assert (verdict.json()["shelf"], verdict.json()["claim"]) == ("in", "in")
    again = client.post(f"{V1}/inspections/{sitting['id']}/finish/")
    assert again.json() == verdict.json() == client.get(f"{V1}/pieces/{piece.label}/verdict/").json()
    assert PieceVerdict.objects.count() == 1
    shown = client.get(f"{V1}/inspections/{sitting['id']}/").json()
    assert len(shown["readings"]) == 6
    assert shown["finished_at"] is not None
    assert Reading.objects.filter(instrument=tape).count() == 6


def test_who_comes_to_an_open_sitting_joins_it() -> None:
    there = f"{V1}/pieces/{make_piece().label}/inspections/"
    first, second = client_of().post(there), client_of().post(there)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert client_of(Role.VIEWER).get(there).json()["results"] == [first.json()]


def test_a_viewer_looks_and_measures_nothing() -> None:
    sitting = make_inspection()
    measure_all(sitting)
    client = client_of(Role.VIEWER)
    assert client.get(f"{V1}/inspections/{sitting.pk}/").status_code == 200
    there = f"{V1}/pieces/{sitting.piece.label}"
    for answer in (
        send(client, sitting, reading()),
        client.post(f"{there}/inspections/"),
        client.post(f"{there}/unread-sides/", {"code": "WA", "side": "L", "reason": "torn"}),
        client.post(f"{V1}/inspections/{sitting.pk}/finish/"),
    ):
        problem(answer, 403, says="As viewer you may not record readings")


@pytest.mark.parametrize(
    "address",
    [
        "pieces/P000001/inspections/",
        "pieces/P000001/unread-sides/",
        "inspections/1/readings/",
        "inspections/1/finish/",
        "slip-questions/1/answer/",
        "pieces/P000001/dispositions/",
    ],
)
def test_a_stranger_is_asked_to_sign_in(address: str) -> None:
    assert is_asked_to_sign_in(stranger().post(f"{V1}/{address}", {}))


@pytest.mark.parametrize("address", ["inspections/1/", "verdicts/", "verdicts/1/", "pieces/P1/verdict/"])
def test_a_stranger_sees_nothing(address: str) -> None:
    assert is_asked_to_sign_in(stranger().get(f"{V1}/{address}"))


def test_what_is_not_there_is_named() -> None:
    client, piece = client_of(), make_piece()
    problem(client.get(f"{V1}/inspections/99/"), 404, says="no inspection 99")
    problem(send(client, 99, reading()), 404, says="no inspection 99")
    problem(client.get(f"{V1}/verdicts/99/"), 404, says="no verdict 99")
    problem(client.get(f"{V1}/pieces/{piece.label}/verdict/"), 404, says="not judged yet")
    problem(client.post(f"{V1}/slip-questions/99/answer/", {"answer": "kept"}), 404, says="question 99")
    problem(client.post(f"{V1}/pieces/P999999/inspections/"), 404, says="no piece P999999")
    body = problem(client.post(f"{V1}/pieces/{piece.label}/inspections/", {"instrument": "T9"}), 422)
    assert body["errors"][0]["pointer"] == "/instrument"
    hot = client.post(f"{V1}/pieces/{piece.label}/inspections/", {"room_temperature_c": "70.0"})
    problem(hot, 422, says="70.0 °C is no temperature of a room")


def test_an_unfinished_sitting_says_what_is_still_to_read() -> None:
    sitting = make_inspection()
    problem(
        client_of().post(f"{V1}/inspections/{sitting.pk}/finish/"),
        409,
        says="Still to read: UB L",
        kind="/problems/not-yet-measured",
    )


def test_one_half_that_cannot_be_read_is_noted_and_the_owner_finishes() -> None:
    sitting = make_inspection()
    measure_all(sitting)
    gone = Reading.objects.filter(point__code="WA", side="R")
    Reading.objects.filter(pk__in=gone.values("pk")).delete()
    there = f"{V1}/pieces/{sitting.piece.label}/unread-sides/"
    noted = client_of().post(there, {"code": "WA", "side": "R", "reason": "edge torn"})
    assert noted.status_code == 201
    assert noted.json()["inspection"] == sitting.pk
    for sent, place in (({"code": "XX", "side": "R"}, "/code"), ({"code": "WA", "side": "S"}, "/side")):
        answer = client_of().post(there, {"reason": "torn"} | sent)
        body = problem(answer, 422, says="Send one of", kind="/problems/point-not-in-walk")
        assert body["errors"][0]["pointer"] == place
    finish = f"{V1}/inspections/{sitting.pk}/finish/"
    problem(client_of().post(finish), 422, says="owner has to allow", kind="/problems/owner-must-allow")
    waist = client_of(Role.OWNER).post(finish).json()["points"][1]
    full = next(found for found in waist["findings"] if found["aspect"] == "F")
    assert (full["from_one_half"], full["value"]["mm"]) == (True, "710")


# --- readings, exactly once ------------------------------------------------------------------------------


def test_the_same_reading_again_is_answered_the_same_and_stored_once() -> None:
    sitting, body, client = make_inspection(), reading(), client_of()
    first, again = send(client, sitting, body), send(client, sitting, body)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert Reading.objects.count() == 1


def test_the_key_may_stand_in_the_header_quoted_or_not() -> None:
    sitting, body, client = make_inspection(), reading(), client_of()
    key = str(body.pop("client_key"))
    first = send(client, sitting, body, **{"Idempotency-Key": key})
    again = send(client, sitting, body, **{"Idempotency-Key": f'"{key}"'})
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json()["client_key"] == key
    assert send(client, sitting, body | {"client_key": key}).status_code == 200


@pytest.mark.parametrize(
    "change",
    [{"typed": "356"}, {"side": "R"}, {"code": "CF"}, {"unit": "cm", "typed": "35.5"}, {"unit": "in"}],
)
def test_another_reading_under_the_same_key_is_a_conflict(change: dict[str, str]) -> None:
    sitting, body, client = make_inspection(), reading(), client_of()
    send(client, sitting, body)
    problem(
        send(client, sitting, body | change), 409, says="already stands", kind="/problems/client-key-reused"
    )
    other = make_inspection(make_piece(sitting.piece.batch))
    problem(send(client, other, body), 409, kind="/problems/client-key-reused")
    assert Reading.objects.count() == 1


def test_a_reading_without_a_key_is_refused_and_so_are_two_keys() -> None:
    sitting, body, client = make_inspection(), reading(), client_of()
    other = str(uuid.uuid4())
    wrong = problem(send(client, sitting, body, **{"Idempotency-Key": other}), 422, says="Send one of them")
    assert wrong["errors"][0]["pointer"] == "/client_key"
    problem(send(client, sitting, body | {"client_key": "1"}), 400, says="Send a UUID")
    del body["client_key"]
    problem(send(client, sitting, body, **{"Idempotency-Key": "once"}), 400, says="'once', which is no UUID")
    problem(send(client, sitting, body), 422, says="key of its own", kind="/problems/client-key-missing")
    assert not Reading.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_that_race_with_the_same_key_store_one_reading() -> None:
    """On the database file, as in the shop: each thread has a connection of its own."""
    sitting, body, person = make_inspection(), reading(), make_user()
    clients = [client_of(user=person) for _ in range(4)]
    together = threading.Barrier(len(clients))
    answers: list[Json] = []

    def race(client: APIClient) -> None:
        try:
            together.wait(timeout=10)
            answers.append(send(client, sitting, body))
        finally:
            connections.close_all()

    runners = [threading.Thread(target=race, args=(client,)) for client in clients]
    for runner in runners:
        runner.start()
    for runner in runners:
        runner.join(timeout=30)
    assert sorted(answer.status_code for answer in answers) == [200, 200, 200, 201]
    assert len({answer.json()["id"] for answer in answers}) == 1
    assert Reading.objects.count() == 1


def test_the_owner_and_the_inspector_record_and_each_reading_says_who() -> None:
    sitting = make_inspection()
    for repeat, role in enumerate((Role.OWNER, Role.INSPECTOR), start=1):
        person = make_user(role)
        stored = send(client_of(user=person), sitting, reading(taken_at="2026-03-02T10:00:00+01:00")).json()
        assert (stored["taken_by"], stored["taken_at"]) == (person.username, "2026-03-02T09:00:00Z")
        assert stored["repeat"] == repeat


@pytest.mark.parametrize(
    ("change", "status", "says", "place"),
    [
        ({"typed": "34 3"}, 422, "two figures", "/typed"),
        ({"typed": ""}, 422, "nothing", "/typed"),
        ({"typed": 343}, 400, "Send this as text", "/typed"),
        (
            {"code": "XX"},
            422,
            "no point 'XX'. Send one of these, with a side it has: UB (L, R), WA (L, R), CF (L, R).",
            "/code",
        ),
        ({"side": "S"}, 422, "has no side S. Send one of: L, R.", "/side"),
        ({"side": "left"}, 400, "'left' is none of those there are. Send one of: L, R, S.", "/side"),
        ({"unit": "m"}, 400, "Send one of: mm, cm, in.", "/unit"),
        ({"client_key": None}, 400, "null is no key. Send a UUID", "/client_key"),
        ({"client_key": "row-1"}, 400, "Send a UUID", "/client_key"),
        ({"instrument": "T-0"}, 422, "no tape or rule", "/instrument"),
        ({"taken_at": "2026-03-02T10:00:00"}, 400, "offset", "/taken_at"),
        ({"taken_at": "0001-01-01T00:00:00Z"}, 422, "before 1990", "/taken_at"),
        ({"Typed": "343"}, 400, "There is no 'Typed' here", "/Typed"),
        ({"corrects": 1}, 422, "needs a reason", "/reason"),
        ({"corrects": 1, "reason": "slipped"}, 422, "belongs to another sitting", "/corrects"),
        ({"note": "a\x00b"}, 422, "Null characters", "/note"),
    ],
)
def test_a_reading_that_cannot_be_stored_says_why_and_where(
    change: dict[str, object], status: int, says: str, place: str
) -> None:
    sitting = make_inspection()
    answer = send(client_of(), sitting, reading() | change)
    body = problem(answer, status, says=says, kind=answer.json()["type"])
    assert [entry["pointer"] for entry in body["errors"]] == [place]
    assert not Reading.objects.exists()


def test_a_correction_names_what_it_corrects_and_keeps_it() -> None:
    sitting, client = make_inspection(), client_of()
    first = send(client, sitting, reading(typed="365")).json()
    second = send(client, sitting, reading(corrects=first["id"], reason="read at the wrong height")).json()
    assert (second["corrects"], second["reason"], second["repeat"]) == (
        first["id"],
        "read at the wrong height",
        1,
    )
    assert [r["typed"] for r in client.get(f"{V1}/inspections/{sitting.pk}/").json()["readings"]] == [
        "365",
        "355",
    ]


def test_a_reading_for_a_finished_sitting_is_a_conflict() -> None:
    sitting, client = make_inspection(), client_of()
    measure_all(sitting)
    client.post(f"{V1}/inspections/{sitting.pk}/finish/")
    problem(send(client, sitting, reading()), 409, says="was finished", kind="/problems/sitting-is-over")


# --- the slip guard --------------------------------------------------------------------------------------


def test_a_likely_slip_is_asked_about_and_answered_once() -> None:
    sitting, client = make_inspection(), client_of()
    stored = send(client, sitting, reading(typed="710")).json()
    question = stored["questions"][0]
    assert (stored["length"]["mm"], question["answer"]) == ("710", "")
    assert "710" in question["question"]
    there = f"{V1}/slip-questions/{question['id']}/answer/"
    problem(client_of(Role.VIEWER).post(there, {"answer": "kept"}), 403)
    problem(client.post(there, {"answer": ""}), 400)
    kept = client.post(there, {"answer": "kept"})
    assert (kept.status_code, kept.json()["answer"]) == (200, "kept")
    assert client.post(there, {"answer": "kept"}).json() == kept.json()
    problem(
        client.post(there, {"answer": "read_again"}),
        409,
        says="answered already",
        kind="/problems/nothing-to-answer",
    )


def test_finishing_with_an_open_question_says_which_where_to_answer_and_what_is_unread() -> None:
    sitting, client = make_inspection(), client_of()
    question = send(client, sitting, reading(typed="710")).json()["questions"][0]
    there = f"/api/v1/slip-questions/{question['id']}/answer/"
    finish = f"{V1}/inspections/{sitting.pk}/finish/"
    said = problem(client.post(finish), 409, kind="/problems/not-yet-measured")["detail"]
    assert said == (
        f"Piece {sitting.piece.label} has a reading that looks like a slip: WA L 710. Keep what was read or "
        f"read it again first. Still to read: UB L, UB R, WA R, CF L, CF R. Answer at {there}."
    )
    client.post(there, {"answer": "kept"})
    said = problem(client.post(finish), 409, kind="/problems/not-yet-measured")["detail"]
    assert (
        said
        == f"Piece {sitting.piece.label} cannot be judged yet. Still to read: UB L, UB R, WA R, CF L, CF R."
    )


# --- verdicts --------------------------------------------------------------------------------------------


@pytest.fixture
def out() -> Piece:
    """A piece whose left waist is 20 mm over."""
    sitting = make_inspection()
    measure_all(sitting, {("WA", "L"): 20})
    client_of().post(f"{V1}/inspections/{sitting.pk}/finish/")
    return sitting.piece


def test_a_verdict_shows_all_it_was_judged_on(out: Piece) -> None:
    shown = client_of(Role.VIEWER).get(f"{V1}/pieces/{out.label}/verdict/").json()
    assert (shown["shelf"], shown["claim"], shown["worst_point"], shown["size_label"]) == (
        "out",
        "out",
        "WA",
        "24",
    )
    assert (shown["shelf_rule"]["code"], shown["shelf_rule"]["version"]) == ("shelf-guarded", 1)
    assert (shown["claim_rule"]["code"], shown["claim_rule"]["multiplier"]) == ("claim-proved", "2.000")
    waist = next(point for point in shown["points"] if point["point"] == "WA")
    left = next(found for found in waist["findings"] if found["aspect"] == "L")
    lengths = {
        name: left[name]["mm"] for name in ("value", "nominal", "deviation", "lower", "upper", "beyond")
    }
    assert lengths == {
        "value": "375",
        "nominal": "355",
        "deviation": "20",
        "lower": "349",
        "upper": "361",
        "beyond": "14",
    }
    assert left["deviation"]["shown"] == "+20.0 mm"
    # The guard band is the rule's multiplier times the uncertainty, which is shown rounded up.
    uncertainty = left["uncertainty"]
    assert uncertainty["nm"] > 1_000_000
    assert Decimal(uncertainty["mm"]) * 1_000_000 == uncertainty["nm"]
    assert uncertainty["shown"].endswith(" mm")
    assert 0 <= 2 * uncertainty["nm"] - left["claim_guard"]["nm"] <= 2
    assert (left["shelf"], left["readings"], left["deciding"]) == ("out", 1, True)
    assert (shown["shelf_rule"]["kind"], shown["shelf_rule"]["risk"]) == ("risk", "0.05")
    assert shown["claim_rule"]["in_words"].startswith("Guard band U = 2 × uncertainty")
    assert left["risk"]["wrong"] == left["risk"]["in_tolerance"] < 0.001
    assert (left["risk"]["pieces_known"], left["risk"]["wrong_knowing_maker"]) == (0, None)
    assert (left["risk"]["degrees_of_freedom"], left["risk"]["sentence"]) == (
        None,
        "Out of tolerance: the chance that this is wrong is less than 0.1 %.",
    )
    assert client_of().get(f"{V1}/verdicts/{shown['id']}/").json() == shown


def test_verdicts_are_listed_by_batch_piece_and_outcome(out: Piece) -> None:
    good = make_piece()
    earlier = make_verdict(good, shelf="close")
    make_verdict(good, shelf="in", claim="close")
    client = client_of()

    def pieces(query: str) -> list[str]:
        return [row["piece"] for row in client.get(f"{V1}/verdicts/?{query}").json()["results"]]

    assert pieces("") == [out.label, good.label]
    assert pieces("shelf=out") == [out.label]
    assert pieces("claim=close") == [good.label]
    assert pieces(f"batch={good.batch.label}") == [good.label]
    assert pieces(f"piece={out.label}") == [out.label]
    with_earlier = client.get(f"{V1}/verdicts/?with_earlier=true&piece={good.label}").json()["results"]
    assert [(row["id"] == earlier.pk, row["is_current"]) for row in with_earlier] == [
        (True, False),
        (False, True),
    ]
    problem(client.get(f"{V1}/verdicts/?batch=B999"), 404, says="no batch B0999")
    problem(client.get(f"{V1}/verdicts/?piece=12"), 400)


@pytest.mark.parametrize("role", ROLES)
def test_everybody_may_see_verdicts(role: str, out: Piece) -> None:
    assert len(client_of(role).get(f"{V1}/verdicts/").json()["results"]) == 1


def test_lists_cost_the_same_whatever_they_hold(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    client, piece = client_of(), make_piece()
    for _ in range(3):
        sitting = make_inspection(piece)
        measure_all(sitting)
        make_verdict(inspection=sitting)
        with django_assert_num_queries(3):
            client.get(f"{V1}/verdicts/?with_earlier=true")
        with django_assert_num_queries(9):
            client.get(f"{V1}/pieces/{piece.label}/inspections/")
