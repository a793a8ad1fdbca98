"""The page of a piece that was sent to rework: a verdict of an earlier sitting is from before it."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pytest
from django.urls import reverse

from inventory.services.dispositions import decide_disposition
from inventory.services.judging import judge_inspection
from tests import factories
from tests.factories import NOW

if TYPE_CHECKING:
    from django.test import Client

pytestmark = pytest.mark.django_db

SAID = "This verdict is from before the rework."
HOUR = dt.timedelta(hours=1)


def test_only_a_sitting_after_the_rework_ends_the_notice(client: Client) -> None:
    owner = factories.make_user("owner")
    client.force_login(owner)
    piece = factories.make_piece()
    url = reverse("piece", args=[piece.number])
    first = factories.make_inspection(piece, finished_at=NOW)
    factories.measure_all(first, {("WA", "L"): 20})
    judge_inspection(inspection=first, by=owner, at=NOW)
    assert SAID not in client.get(url).content.decode()
    decide_disposition(piece=piece, decision="rework", reason="let out", by=owner, at=NOW + HOUR)
    assert SAID in client.get(url).content.decode()
    # Judged again, as after a corrected reading: it was still measured before.
    judge_inspection(inspection=first, by=owner, at=NOW + 2 * HOUR)
    assert SAID in client.get(url).content.decode()
    second = factories.make_inspection(piece, finished_at=NOW + 3 * HOUR)
    factories.measure_all(second)
    judge_inspection(inspection=second, by=owner, at=NOW + 3 * HOUR)
    assert SAID not in client.get(url).content.decode()
