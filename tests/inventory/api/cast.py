"""The standing cast at the API: owner, inspector, viewer, stranger; and how what it says is looked at."""

from __future__ import annotations

from typing import Any

from rest_framework.test import APIClient

from inventory.models import User
from inventory.models.people import Role
from inventory.services.tokens import issue_token
from tests.factories import NOW, make_user

ROLES = (Role.OWNER, Role.INSPECTOR, Role.VIEWER)

Json = Any  # Any: JSON


def client_of(role: str = Role.INSPECTOR, *, user: User | None = None) -> APIClient:
    """A program signed in by the token of somebody with this role."""
    client = APIClient()
    token = issue_token(by=user or make_user(role), at=NOW)
    client.credentials(HTTP_AUTHORIZATION=f"Token {token.key}")
    return client


def stranger() -> APIClient:
    return APIClient()


def problem(answer: Json, status: int, *, says: str = "", kind: str = "about:blank") -> Json:
    """The body of an answer that must be a problem of this status, its sentences saying so much."""
    body = answer.json()
    assert answer.status_code == status, body
    assert answer["Content-Type"] == "application/problem+json"
    assert (body["status"], body["type"]) == (status, kind), body
    assert body["title"]
    said = " ".join([body["detail"], *(entry["detail"] for entry in body.get("errors", []))])
    assert says in said, said
    return body


def is_asked_to_sign_in(answer: Json) -> bool:
    """Whether the answer is a 401 problem with its challenge."""
    problem(answer, 401)
    return bool(answer["WWW-Authenticate"] == "Token")
