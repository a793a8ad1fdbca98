"""The standing cast at the set-up screens: owner, inspector, viewer, stranger."""

from __future__ import annotations

from django.test import Client

from inventory.models import User
from inventory.models.people import Role
from tests.factories import make_user


def client_of(role: str = Role.OWNER, *, user: User | None = None) -> Client:
    """A browser signed in as somebody with this role."""
    client = Client()
    client.force_login(user or make_user(role))
    return client


def said(client_answer: object) -> str:
    """The text of a page."""
    content: bytes = client_answer.content  # type: ignore[attr-defined]  # the test client's own response class
    return content.decode()
