"""One shape for every error, wherever it comes from."""

from __future__ import annotations

import pytest
from django.test import Client
from rest_framework.exceptions import APIException
from rest_framework.test import APIClient

from inventory.api import problems
from inventory.calc.errors import LengthNotUnderstood
from inventory.models.people import Role
from inventory.queries.plans import SizeNotInSpec
from inventory.services.refusals import Refused
from tests.factories import make_user
from tests.inventory.api.cast import client_of, problem, stranger

pytestmark = pytest.mark.django_db

DELIVERIES = "/api/v1/deliveries/"


@pytest.mark.parametrize("method", ["get", "post", "put", "patch", "delete", "options"])
@pytest.mark.parametrize("address", ["/api/v1/nothing/", "/api/v2/pieces/", "/api/", "/api/v1/pieces/12/"])
def test_an_address_that_nothing_answers_is_a_problem_whatever_the_method(method: str, address: str) -> None:
    problem(getattr(stranger(), method)(address), 404, says=f"nothing at {address}")


def test_a_forgotten_slash_is_said_and_not_redirected_so_no_body_is_lost() -> None:
    for answer in (client_of().get(DELIVERIES[:-1]), client_of().post(DELIVERIES[:-1], {})):
        problem(answer, 404, says=f"end with a slash: {DELIVERIES}")


def test_a_method_that_is_not_offered_names_those_that_are() -> None:
    answer = client_of(Role.OWNER).delete(DELIVERIES)
    problem(answer, 405, says="DELETE")
    assert answer["Allow"] == "GET, POST, HEAD, OPTIONS"


@pytest.mark.parametrize(
    ("body", "media_type", "status", "says"),
    [
        ("{", "application/json", 400, "JSON parse error"),
        ("[1]", "application/json", 400, "Invalid data"),
        ('{"maker": NaN}', "application/json", 400, "JSON parse error"),
        ("[" * 200_000, "application/json", 400, "nested too deep"),
        (b"\xff\xfe", "application/json", 400, "JSON parse error"),
        ("maker=x", "application/x-www-form-urlencoded", 415, "Send JSON, with the header"),
        ("<maker/>", "text/xml", 415, "Unsupported media type"),
        (f'"{"x" * 5_300_000}"', "application/json", 413, "5 MB"),
    ],
    ids=["cut off", "a list", "no number", "deep", "no text", "a form", "xml", "large"],
)
def test_a_body_that_cannot_be_read_is_a_problem(
    body: str | bytes, media_type: str, status: int, says: str
) -> None:
    problem(client_of().post(DELIVERIES, data=body, content_type=media_type), status, says=says)


def test_text_that_no_database_keeps_is_refused() -> None:
    for text in ("\\u0000", "\\ud800"):
        sent = f'{{"maker": "m", "arrived_at": "2026-03-02T09:00:00Z", "order_reference": "a{text}b"}}'
        body = problem(client_of().post(DELIVERIES, data=sent, content_type="application/json"), 422)
        assert [entry["pointer"] for entry in body["errors"]] == ["/order_reference"]
    problem(client_of().get(f"{DELIVERIES}?text=a%00b"), 400, says="Null characters")


def test_a_pointer_into_a_body_is_escaped_as_its_standard_says() -> None:
    body = problem(client_of().post(DELIVERIES, {"a/b~c": 1}), 400)
    assert body["errors"][0]["pointer"] == "/a~1b~0c"


def test_only_json_is_given() -> None:
    problem(client_of().get(DELIVERIES, headers={"Accept": "text/csv"}), 406)


def test_a_browser_that_is_signed_in_writes_only_with_its_guard_against_forged_forms() -> None:
    client = APIClient(enforce_csrf_checks=True)
    client.force_login(make_user())
    assert client.get(DELIVERIES).status_code == 200
    problem(client.post(DELIVERIES, {}), 403, says="CSRF")


def test_something_unforeseen_is_a_problem_too_and_tells_nothing_of_the_inside(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(**_wanted: object) -> None:
        raise RuntimeError("secret")

    monkeypatch.setattr("inventory.queries.deliveries.deliveries_matching", broken)
    client = client_of()
    client.raise_request_exception = False
    body = problem(client.get(DELIVERIES), 500, says="Look at what is stored")
    assert "secret" not in str(body)


def test_a_page_for_people_keeps_its_own_errors(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_args: object, **_wanted: object) -> None:
        raise RuntimeError("secret")

    monkeypatch.setattr("inventory.queries.deliveries.deliveries_matching", broken)
    client = Client(raise_request_exception=False)
    client.force_login(make_user())
    answer = client.get("/deliveries/")
    assert (answer.status_code, answer["Content-Type"]) == (500, "text/html; charset=utf-8")


def test_a_host_that_is_not_served_is_a_problem_under_api_and_a_page_elsewhere() -> None:
    problem(stranger().get(DELIVERIES, headers={"Host": "elsewhere.example"}), 400, says="host")
    answer = Client().get("/deliveries/", headers={"Host": "elsewhere.example"})
    assert (answer.status_code, answer["Content-Type"]) == (400, "text/html; charset=utf-8")


def test_the_description_and_its_page_want_a_sign_in() -> None:
    problem(stranger().get("/api/v1/schema/"), 401)
    assert client_of(Role.VIEWER).get("/api/v1/schema/").status_code == 200
    assert Client().get("/api/v1/docs/")["Location"] == "/sign-in/?next=/api/v1/docs/"


class TapeMissing(Refused):
    """A situation of the test's own."""


@pytest.mark.parametrize(
    ("error", "status", "kind"),
    [
        (TapeMissing("No tape.", field="tape"), 422, "/problems/tape-missing"),
        (LengthNotUnderstood("34 3", "two figures", "343"), 422, "/problems/length-not-understood"),
        (SizeNotInSpec("99", {"24": 1}), 422, "/problems/size-not-in-spec"),
    ],
)
def test_a_refusal_is_named_after_its_situation(error: Exception, status: int, kind: str) -> None:
    answer = problems.handle(error, {})
    assert answer is not None
    assert (answer.status_code, answer.data["type"]) == (status, kind)
    assert answer.data["errors"][0]["detail"] == str(error)


def test_what_nobody_foresaw_is_left_to_the_server() -> None:
    assert problems.handle(RuntimeError("bug"), {}) is None
    assert isinstance(problems.as_api_error(TapeMissing("x")), APIException)


def test_who_is_not_signed_in_is_told_what_to_send() -> None:
    client = stranger()
    assert (
        "POST /api/v1/token/" in problem(client.get(DELIVERIES), 401, says="Authorization: Token")["detail"]
    )
    client.credentials(HTTP_AUTHORIZATION="Bearer secret-figures")
    said = problem(client.get(DELIVERIES), 401, says="begins with 'Bearer', not with Token")["detail"]
    assert "secret-figures" not in said
    client.credentials(HTTP_AUTHORIZATION="secret-figures")
    said = problem(client.get(DELIVERIES), 401, says="lacks the word Token")["detail"]
    assert "secret-figures" not in said
    client.credentials(HTTP_AUTHORIZATION="Token secret-figures")
    problem(client.get(DELIVERIES), 401, says="ended by a new password. Send the header")


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ("batch=XX", "no label. Ask by one such as B0012"),
        ("maker=Finch and Daughter", "code, not its name: at most 12 characters. See /api/v1/makers/"),
        ("standing=lost", "'lost' is none of those there are. Send one of: hold, "),
    ],
)
def test_a_parameter_that_cannot_be_read_is_answered_by_what_can(query: str, says: str) -> None:
    problem(client_of().get(f"/api/v1/pieces/?{query}"), 400, says=says)


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"order_reference": "1"}, "'maker' is missing"),
        ({"maker": None, "order_reference": "1"}, "'maker' is null"),
        ({"maker": "Finch and Daughter", "order_reference": "1"}, "code, not its name"),
    ],
)
def test_a_place_of_a_body_that_is_wrong_is_named_with_the_cure(sent: dict[str, str], says: str) -> None:
    body = problem(
        client_of().post(DELIVERIES, {"arrived_at": "2026-03-02T09:00:00Z", **sent}), 400, says=says
    )
    assert [entry["pointer"] for entry in body["errors"]] == ["/maker"]
