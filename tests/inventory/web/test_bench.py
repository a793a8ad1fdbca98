"""The bench by plain forms and by its script's messages: who may, what is said, what stays hidden."""

from __future__ import annotations

import random
import uuid
from collections import Counter
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from inventory.calc.length import Display, Unit, show, show_exact, to_mm
from inventory.models import Inspection, Piece, Reading, Shop, SlipQuestion, User
from inventory.models.people import Role
from inventory.queries.bench.sheet import sheet_of
from tests.factories import make_inspection, make_instrument, make_piece, make_user, measure_all

pytestmark = pytest.mark.django_db


@pytest.fixture
def piece() -> Piece:
    return make_piece()


@pytest.fixture
def inspector(client: Client) -> User:
    person = make_user(Role.INSPECTOR)
    client.force_login(person)
    return person


def send(client: Client, piece: Piece, step: str, typed: str, *, script: bool = True, **more: object) -> Any:
    """Post a reading as the page's script does, or as its form does by itself (Any: the test response)."""
    body = {"step": step, "typed": typed, "key": str(uuid.uuid4()), **more}
    headers = {"Accept": "application/json"} if script else {}
    return client.post(reverse("bench-reading", args=[piece.number]), body, headers=headers)


def entrances(piece: Piece) -> list[str]:
    names = ("bench-piece", "bench-reading", "bench-paper", "bench-finish")
    return [reverse("bench"), *(reverse(name, args=[piece.number]) for name in names)]


# --- who may ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize("role", [Role.OWNER, Role.INSPECTOR])
def test_owner_and_inspector_come_to_the_bench(client: Client, piece: Piece, role: str) -> None:
    client.force_login(make_user(role))
    for address in entrances(piece):
        assert client.get(address, follow=True).status_code == 200, address


def test_a_viewer_is_told_and_a_stranger_asked_to_sign_in(client: Client, piece: Piece) -> None:
    for address in entrances(piece):
        assert reverse("sign-in") in client.get(address)["Location"]
    client.force_login(make_user(Role.VIEWER))
    for address in entrances(piece):
        assert client.get(address).status_code == 403, address
    for name in ("bench-reading", "bench-finish", "bench-unread", "bench-paper"):
        assert client.post(reverse(name, args=[piece.number])).status_code == 403, name
    assert not Inspection.objects.exists()


# --- whatever is typed -----------------------------------------------------------------------------------


def test_whatever_is_typed_is_stored_or_refused_in_words(
    client: Client, piece: Piece, inspector: User
) -> None:
    """The box itself; ten thousand more go into what reads it, in tests/calc/test_length.py."""
    rng = random.Random(20_261)
    step = sheet_of(piece.number).walk[0].key
    parts = [*"0123456789./,- '\"½⅝″′+e<&\x00\u2028\ud83d", "mm", "in", "12", " 5/8", "34,3", "9" * 50]
    answers = Counter[int]()
    for _ in range(500):
        typed = "".join(rng.choices(parts, k=rng.randint(0, 6))).encode("utf-8", "replace").decode()
        answer = send(client, piece, step, typed)
        answers[answer.status_code] += 1
        assert answer.status_code < 500, typed
        assert answer.status_code < 400 or answer.json()["detail"], typed
    assert min(answers.values()) > 20, "a mixture, or this test says little"
    assert Reading.objects.count() == answers[200]


# --- finding a piece -------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["{label}", "{number}", "p{number}", "https://shop.example/pieces/{label}/"])
def test_a_label_scanned_or_typed_opens_the_piece(
    client: Client, piece: Piece, inspector: User, form: str
) -> None:
    answer = client.get(reverse("bench"), {"q": form.format(label=piece.label, number=piece.number)})
    assert answer["Location"] == reverse("bench-piece", args=[piece.number])


@pytest.mark.parametrize(
    ("scanned", "said"), [("P999999", "P999999"), ("B0012", "B0012"), ("<b>", "&lt;b&gt;")]
)
def test_an_unknown_label_is_named_with_a_cure(
    client: Client, inspector: User, scanned: str, said: str
) -> None:
    answer = client.get(reverse("bench"), {"q": scanned})
    assert answer.status_code == 404
    assert said in answer.content.decode()
    assert "such as P000123" in answer.content.decode()


def test_an_empty_box_goes_on_to_the_next_piece(client: Client, piece: Piece, inspector: User) -> None:
    answer = client.get(reverse("bench"), {"q": "", "next": str(piece.number)})
    assert answer["Location"] == reverse("bench-piece", args=[piece.number])


# --- blind -----------------------------------------------------------------------------------------------


def figures_of(piece: Piece, code: str) -> set[str]:
    """Nominal and limits of a point, as a page could show them in any unit."""
    plan = sheet_of(piece.number).plan(code)
    displays = (
        Display(Unit.MM),
        Display(Unit.CM),
        Display(Unit.INCH),
        Display(Unit.INCH, 8),
        Display(Unit.INCH, 16),
    )
    lengths = (plan.nominal_nm, plan.limits.lower_nm, plan.limits.upper_nm)
    shown = {show(nm, display) for nm in lengths for display in displays}
    shown |= {show_exact(nm, unit=unit) for nm in lengths for unit in Unit}
    return shown | {f">{to_mm(nm)}<" for nm in lengths} | {str(nm) for nm in lengths}


def test_before_a_reading_is_in_its_figures_are_nowhere_on_the_page(
    client: Client, piece: Piece, inspector: User
) -> None:
    page = client.get(reverse("bench-piece", args=[piece.number])).content.decode()
    for code in ("UB", "WA", "CF"):
        assert not [figure for figure in figures_of(piece, code) if figure in page]


def test_with_open_eyes_the_result_of_the_other_side_is_shown_at_once(
    client: Client, piece: Piece, inspector: User
) -> None:
    Shop.objects.update(blind_entry=False)
    send(client, piece, "WA-L", "355")
    address = reverse("bench-piece", args=[piece.number])
    page = client.get(f"{address}?after=WA-L&at=WA-R").content.decode()
    assert [figure for figure in figures_of(piece, "WA") if figure in page]


def test_while_the_same_point_is_asked_for_neither_page_nor_message_holds_its_figures(
    client: Client, piece: Piece, inspector: User
) -> None:
    answer = send(client, piece, "WA-L", "361")  # exactly at the limit: asked for again
    assert answer.json()["ask"] == "again"
    page = client.get(reverse("bench-piece", args=[piece.number]), {"after": "WA-L"}).content.decode()
    other_side = client.get(reverse("bench-piece", args=[piece.number]), {"after": "WA-L", "at": "WA-R"})
    for text in (answer.content.decode(), page, other_side.content.decode()):
        assert not [figure for figure in figures_of(piece, "WA") if figure in text]
        assert "361" not in text  # nor the earlier repeat


def test_after_the_reading_its_deviation_limits_and_verdict_are_shown(
    client: Client, piece: Piece, inspector: User
) -> None:
    slip = send(client, piece, "WA-L", "357").json()["slip"]
    assert "+2.0 mm" in slip
    assert "in tolerance" in slip
    assert "limits 349 to 361 mm" in slip


# --- what the script is told -----------------------------------------------------------------------------


def test_the_answer_says_what_is_done_and_what_comes_next(
    client: Client, piece: Piece, inspector: User
) -> None:
    answer = send(client, piece, "UB-L", "405").json()
    reading = Reading.objects.get()
    assert (answer["created"], answer["reading"], answer["sitting"]) == (
        True,
        reading.pk,
        reading.inspection_id,
    )
    assert (answer["ask"], answer["next"], answer["done"]) == ("read", "WA-L", ["UB-L"])
    assert "in tolerance" in answer["marks"]["UB-L"]


def test_saving_one_reading_costs_eight_statements_with_everything_around_it(
    client: Client, piece: Piece, inspector: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    sitting = send(client, piece, "UB-L", "405").json()["sitting"]
    # who is signed in; then begin, sitting with its piece, shop, readings, insert, audit, commit
    with django_assert_num_queries(8):
        assert send(client, piece, "WA-L", "355", sitting=sitting).status_code == 200


def test_opening_a_piece_costs_the_same_however_much_was_read(
    client: Client, piece: Piece, inspector: User, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    make_instrument()
    sitting = make_inspection(piece, opened_by=inspector)
    address = reverse("bench-piece", args=[piece.number])
    client.get(address)
    with django_assert_num_queries(9):
        client.get(address)
    measure_all(sitting)
    with django_assert_num_queries(9):
        client.get(address)


@pytest.mark.parametrize(
    ("more", "status", "code"),
    [
        ({"typed": "3 5"}, 422, "not-understood"),
        ({"step": "ZZ-L"}, 409, "not-in-walk"),
        ({"step": ""}, 400, "bad-message"),
        ({"sitting": "77"}, 409, "sitting-over"),
        ({"signed_by": "9999"}, 409, "read-by-another"),
        ({"corrects": "77", "reason": "slip"}, 422, "cannot-correct"),
        ({"key": "x"}, 400, "bad-message"),
        ({"unit": "ft"}, 400, "bad-message"),
        ({"taken_at": "yesterday"}, 400, "bad-message"),
        ({"taken_at": "2026-13-45T00:00:00Z"}, 400, "bad-message"),
        ({"tape": "1e3"}, 400, "bad-message"),
        ({"state": "eaten"}, 400, "bad-message"),
        ({"room_temperature": "NaN"}, 400, "bad-message"),
        ({"room_humidity": "101"}, 400, "bad-message"),
        ({"typed": "", "question": "77", "answer": "kept"}, 400, "bad-message"),
    ],
)
def test_a_message_that_cannot_be_stored_is_answered_with_what_is_wrong(
    client: Client, inspector: User, more: dict[str, str], status: int, code: str
) -> None:
    piece = make_piece()
    body = {"step": "WA-L", "typed": "355"} | more
    answer = client.post(
        reverse("bench-reading", args=[piece.number]), body, headers={"Accept": "application/json"}
    )
    problem = answer.json()
    assert (answer.status_code, problem["code"]) == (status, code)
    assert answer["Content-Type"] == "application/problem+json"
    assert problem["detail"]
    assert not Reading.objects.exists()


def test_somebody_else_at_the_same_piece_is_named(client: Client, piece: Piece, inspector: User) -> None:
    other = Client()
    other.force_login(make_user(username="bo"))
    send(other, piece, "UB-L", "405")
    answer = send(client, piece, "UB-L", "406", seen="0").json()
    assert "bo is measuring this piece as well and has read UB L" in answer["others"]
    assert [reading.repeat for reading in Reading.objects.all()] == [1, 2]


def test_a_repeat_that_is_asked_for_says_what_it_could_settle_and_no_figure(
    client: Client, piece: Piece, inspector: User
) -> None:
    send(client, piece, "WA-L", "361")
    page = client.get(reverse("bench-piece", args=[piece.number]) + "?after=WA-L").content.decode()
    assert "settle it with a chance of" in page
    assert "Each reading takes about 0.5 min." in page
    assert "361" not in page.partition('id="bench-entry"')[2].partition("</form>")[0]


# --- without the script ----------------------------------------------------------------------------------


def test_a_whole_piece_is_measured_and_judged_by_plain_forms(
    client: Client, piece: Piece, inspector: User
) -> None:
    for step, typed in (
        ("UB-L", "405"), ("WA-L", "355"), ("CF-L", "305"), ("UB-R", "405"), ("WA-R", "355"), ("CF-R", "305"),
    ):  # fmt: skip
        answer = send(client, piece, step, typed, script=False)
        assert answer["Location"] == f"{reverse('bench-piece', args=[piece.number])}?after={step}"
    page = client.get(reverse("bench-piece", args=[piece.number])).content.decode()
    assert f"Finish and judge {piece.label}" in page
    verdict = client.post(reverse("bench-finish", args=[piece.number]), follow=True).content.decode()
    assert "in tolerance" in verdict
    assert "Wrong size suspected: none" in verdict


def test_what_was_typed_comes_back_with_the_reason_it_was_refused(
    client: Client, piece: Piece, inspector: User
) -> None:
    answer = send(client, piece, "WA-L", "34 3", script=False)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="34 3"' in page
    assert "Type" in page
    assert not Inspection.objects.exists()


def test_a_slip_is_asked_about_and_k_keeps_the_figure(client: Client, piece: Piece, inspector: User) -> None:
    page = client.get(send(client, piece, "WA-L", "710", script=False)["Location"]).content.decode()
    question = SlipQuestion.objects.get()
    assert "Is this the full girth" in page
    send(client, piece, "WA-L", "k", script=False, question=question.pk)
    question.refresh_from_db()
    assert question.answer == "kept"
    assert Reading.objects.get().typed == "710"


def test_a_figure_typed_under_the_question_is_a_correction(
    client: Client, piece: Piece, inspector: User
) -> None:
    send(client, piece, "WA-L", "710", script=False)
    question = SlipQuestion.objects.get()
    send(
        client, piece, "WA-L", "355", script=False,
        question=question.pk, corrects=question.reading_id, reason="full girth typed for the half",
    )  # fmt: skip
    question.refresh_from_db()
    assert question.answer == "read_again"
    looked = client.get(reverse("bench-reading", args=[piece.number])).content.decode()
    assert "<s>710</s>" in looked
    assert "full girth typed for the half" in looked


def test_a_figure_is_never_taken_for_keeping_the_old_one(
    client: Client, piece: Piece, inspector: User
) -> None:
    send(client, piece, "WA-L", "710")
    question = SlipQuestion.objects.get()
    send(
        client,
        piece,
        "WA-L",
        "355",
        question=question.pk,
        corrects=question.reading_id,
        answer="kept",
        reason="read again",
    )
    assert [reading.typed for reading in Reading.objects.order_by("pk")] == ["710", "355"]


def test_nobody_is_given_a_reason_that_they_did_not_choose(
    client: Client, piece: Piece, inspector: User
) -> None:
    page = client.get(send(client, piece, "WA-L", "345", script=False)["Location"]).content.decode()
    assert '<option value="tens misread"></option>' in page, "offered, with the others"
    assert 'name="reason" type="text" value=""' in page
    question = SlipQuestion.objects.first()
    assert question is not None
    send(client, piece, "WA-L", "355", question=question.pk, corrects=question.reading_id, reason="")
    assert Reading.objects.get(typed="355").reason == "read again"


@pytest.mark.parametrize("script", [True, False])
def test_an_old_page_stores_no_repeat_that_nobody_asked_for(
    client: Client, piece: Piece, inspector: User, *, script: bool
) -> None:
    """Back and Forward show the walk as it was; `seen` is the newest reading such a page knows of."""
    first = send(client, piece, "WA-L", "355", seen="0").json()
    answer = send(client, piece, "WA-L", "356", seen="0", script=script)
    if script:
        assert (answer.status_code, answer.json()["code"]) == (409, "read-already")
        told = answer.json()["detail"]
    else:
        told = client.get(answer["Location"]).content.decode()
    assert "Half waist, left is read already" in told
    assert Reading.objects.count() == 1
    assert send(client, piece, "WA-L", "356", seen=str(first["seen"])).status_code == 200
    client.force_login(make_user(Role.INSPECTOR))
    assert send(client, piece, "WA-L", "356", seen="0").status_code == 200, "a second person's is kept"


def test_the_bench_is_never_shown_from_the_browsers_memory(
    client: Client, piece: Piece, inspector: User
) -> None:
    assert "no-store" in client.get(reverse("bench-piece", args=[piece.number]))["Cache-Control"]


def test_an_uneven_pair_is_marked_as_such_and_not_at_a_side_that_is_right(
    client: Client, piece: Piece, inspector: User
) -> None:
    """CF: 305 ± 5 mm, left against right 3 mm; 309 and 305 are both in tolerance."""
    send(client, piece, "CF-L", "302")
    answer = send(client, piece, "CF-R", "308").json()
    assert "out" not in answer["marks"]["CF-R"]
    assert "left against right" in answer["marks"]["CF-D"]
    assert "out of tolerance" in answer["marks"]["CF-D"]
    page = client.get(reverse("bench-piece", args=[piece.number])).content.decode()
    assert answer["marks"]["CF-D"] in page
    even = send(client, make_piece(), "CF-L", "305").json()
    assert even["marks"]["CF-D"] == ""


def test_it_is_said_what_is_too_close_to_call(client: Client, piece: Piece, inspector: User) -> None:
    send(client, piece, "CF-L", "303.5")
    page = client.get(send(client, piece, "CF-R", "306.5", script=False)["Location"]).content.decode()
    assert "Left against right is too close to call." in page
    other = make_piece()
    page = client.get(send(client, other, "WA-L", "361", script=False)["Location"]).content.decode()
    assert "This side is too close to call." in page


def test_the_end_of_a_batch_leads_on_and_the_verdict_names_all_that_is_not_in(
    client: Client, piece: Piece, inspector: User
) -> None:
    readings = (
        ("UB-L", "405"),
        ("WA-L", "380"),
        ("CF-L", "302"),
        ("UB-R", "405"),
        ("WA-R", "355"),
        ("CF-R", "308"),
    )
    for step, typed in readings:
        send(client, piece, step, typed)
    for question in SlipQuestion.objects.filter(answer=""):
        send(client, piece, "WA-L", "k", question=question.pk)
    page = client.post(reverse("bench-finish", args=[piece.number]), follow=True).content.decode()
    besides = page.partition("Besides:")[2].partition("</ul>")[0]
    assert "centre front length, left against right" in besides
    assert "out of tolerance" in besides
    batch = piece.batch.number
    for address in (
        reverse("batch", args=[batch]),
        reverse("batch-dispositions", args=[batch]),
        f"{reverse('defect-new', args=[batch])}?piece={piece.label}",
    ):
        assert f'href="{address}"' in page


def test_a_side_that_cannot_be_read_needs_the_owner_at_the_end(
    client: Client, piece: Piece, inspector: User
) -> None:
    for step, typed in (("UB-L", "405"), ("WA-L", "355"), ("CF-L", "305"), ("UB-R", "405"), ("CF-R", "305")):
        send(client, piece, step, typed)
    client.post(reverse("bench-unread", args=[piece.number]), {"step": "WA-R", "reason": "edge torn"})
    page = client.get(reverse("bench-piece", args=[piece.number])).content.decode()
    assert "The owner has to allow that" in page
    refused = client.post(reverse("bench-finish", args=[piece.number]), follow=True).content.decode()
    assert "the owner has to allow twice one half" in refused
    client.force_login(make_user(Role.OWNER))
    assert (
        "Taken as twice one half: WA"
        in client.post(reverse("bench-finish", args=[piece.number]), follow=True).content.decode()
    )


def test_a_piece_that_was_judged_is_measured_again_only_when_asked_for(
    client: Client, piece: Piece, inspector: User
) -> None:
    measure_all(make_inspection(piece, opened_by=inspector))
    client.post(reverse("bench-finish", args=[piece.number]))
    address = reverse("bench-piece", args=[piece.number])
    assert "was measured already" in client.get(address).content.decode()
    assert 'id="reading"' in client.get(address, {"again": "1"}).content.decode()


# --- paper -----------------------------------------------------------------------------------------------


def test_a_worksheet_is_stored_whole_or_not_at_all(client: Client, piece: Piece, inspector: User) -> None:
    address = reverse("bench-paper", args=[piece.number])
    sheet = {
        "unit": "mm", "measured_at": "2026-03-01T10:00", "piece_state": "as_received",
        "box-WA-L": "355", "box-WA-R": "3 5 5",
    }  # fmt: skip
    refused = client.post(address, sheet)
    assert refused.status_code == 422
    assert 'value="3 5 5"' in refused.content.decode()
    assert not Reading.objects.exists()
    client.post(address, sheet | {"box-WA-R": "356"})
    assert [reading.length_nm for reading in Reading.objects.all()] == [355_000_000, 356_000_000]
    assert Inspection.objects.get().source == "paper"
