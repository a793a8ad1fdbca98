"""Correcting the size or colour of a piece on the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from inventory.models import Piece
from inventory.models.people import Role
from inventory.services.dispositions import decide_disposition
from inventory.services.inspections import finish_inspection
from tests.factories import NOW, make_inspection, make_piece, make_user, measure_all

if TYPE_CHECKING:
    from django.test import Client

pytestmark = pytest.mark.django_db


@pytest.fixture
def piece() -> Piece:
    piece = make_piece(size_label="24", colour="black")
    sitting = make_inspection(piece)
    measure_all(sitting)
    finish_inspection(inspection=sitting, by=make_user(Role.OWNER), at=NOW)
    return piece


def _page(client: Client, piece: Piece) -> str:
    return client.get(reverse("piece", args=[piece.number])).content.decode()


def test_an_inspector_corrects_the_size_and_is_told_what_follows(client: Client, piece: Piece) -> None:
    client.force_login(make_user(Role.INSPECTOR))
    address = reverse("piece-correct", args=[piece.number])
    assert address in _page(client, piece)
    said = {"size_label": "26", "colour": "black", "reason": "typed 24 for 26"}
    answer = client.post(address, said, follow=True)
    page = answer.content.decode()
    assert answer.request["PATH_INFO"] == reverse("piece", args=[piece.number])
    assert "Judged again by that size: out of tolerance." in page
    assert "typed 24 for 26" in page


def test_what_is_refused_is_said_in_the_form_and_keeps_what_was_typed(client: Client, piece: Piece) -> None:
    client.force_login(make_user(Role.INSPECTOR))
    said = {"size_label": "24", "colour": "black", "reason": "I thought so"}
    answer = client.post(reverse("piece-correct", args=[piece.number]), said)
    page = answer.content.decode()
    assert answer.status_code == 200
    assert "has size 24 and colour black already" in page
    assert 'value="I thought so"' in page


def test_after_a_relabel_the_page_says_by_which_size_the_verdict_was_given(
    client: Client, piece: Piece
) -> None:
    owner = make_user(Role.OWNER, username="boss")
    decide_disposition(piece=piece, decision="relabel", by=owner, at=NOW, new_size_label="26")
    client.force_login(owner)
    page = _page(client, piece)
    assert "This verdict was given by size 24; the label says" in page
    assert "Re-labelled to size <strong>26</strong>" in page
