"""What a refusal leaves in the log, as the program prints it."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models.people import Role
from tests.factories import make_user


@pytest.fixture
def printed() -> Iterator[io.StringIO]:
    """What the handler of the settings writes."""
    handler = next(one for one in logging.getLogger().handlers if type(one) is logging.StreamHandler)
    written = io.StringIO()
    before = handler.setStream(written)
    yield written
    handler.setStream(before)


@pytest.mark.django_db
def test_a_refused_page_is_one_line_without_a_traceback(printed: io.StringIO) -> None:
    client = Client()
    client.force_login(make_user(Role.VIEWER))
    assert client.get(reverse("delivery-new")).status_code == 403
    assert reverse("delivery-new") in printed.getvalue()
    assert printed.getvalue().count("\n") == 1


def test_what_broke_keeps_its_traceback(printed: io.StringIO) -> None:
    try:
        raise ZeroDivisionError
    except ZeroDivisionError:
        logging.getLogger("django.request").exception("broke", extra={"status_code": 500})
    assert "Traceback" in printed.getvalue()
