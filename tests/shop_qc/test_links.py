"""Every link on every screen leads somewhere, for whoever it is shown to."""

from __future__ import annotations

import html
import re
from typing import TYPE_CHECKING
from urllib.parse import urljoin, urlsplit

import pytest
from django.test import Client

from inventory.models.people import Role
from tests.every_screen import lay_out_everything
from tests.factories import make_user

if TYPE_CHECKING:
    from collections.abc import Iterator

pytestmark = pytest.mark.django_db

LINK = re.compile(r'<a [^>]*?href="([^"]*)"')
LEADS_SOMEWHERE = {200, 302}


@pytest.mark.parametrize("role", Role.values)
def test_every_link_on_every_screen_opens_for_whom_it_is_shown_to(role: str) -> None:
    addresses = lay_out_everything(make_user(Role.OWNER))
    client = Client()
    client.force_login(make_user(role))
    shown_on: dict[str, str] = {}
    for address in addresses.values():
        for link in _links_of(client, address):
            shown_on.setdefault(link, address)
    assert len(shown_on) > 40
    dead = {
        f"{link} on {screen}": code
        for link, screen in shown_on.items()
        if (code := _code(client, link)) not in LEADS_SOMEWHERE
    }
    assert dead == {}


def _links_of(client: Client, address: str) -> Iterator[str]:
    answer = client.get(address)
    if answer.streaming:
        answer.getvalue()  # a file, read whole so that it is closed
        return
    if answer.status_code != 200 or not answer.headers["Content-Type"].startswith("text/html"):
        return
    for written in LINK.findall(answer.content.decode()):
        link = urljoin(address, html.unescape(written))
        parts = urlsplit(link)
        assert not parts.netloc, f"{address} leads out of the house: {link}"
        yield parts._replace(fragment="").geturl()


def _code(client: Client, link: str) -> int:
    answer = client.get(link)
    if answer.streaming:
        answer.getvalue()
    return answer.status_code
