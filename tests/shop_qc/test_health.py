from __future__ import annotations

import os
import time
from pathlib import Path
from unittest import mock

import pytest
from django.db import OperationalError, connection
from django.test import Client
from pytest_django import DjangoAssertNumQueries, Settings

from shop_qc import __version__

pytestmark = pytest.mark.django_db


def test_a_ready_shop_answers_without_a_sign_in(client: Client) -> None:
    answer = client.get("/health/")
    assert answer.status_code == 200
    assert answer.json() == {
        "ready": True,
        "database": "ok",
        "background_work": None,
        "version": __version__,
    }
    assert "no-store" in answer["Cache-Control"]


def test_asking_costs_one_statement(
    client: Client, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_num_queries(1):
        client.get("/health/")


def test_a_database_without_an_answer_makes_it_503(client: Client) -> None:
    with mock.patch.object(connection, "cursor", side_effect=OperationalError("gone")):
        answer = client.get("/health/")
    assert answer.status_code == 503
    assert answer.json()["ready"] is False
    assert answer.json()["database"] == "no answer"


def test_the_age_of_the_runners_last_sign_of_life_is_told(
    client: Client, settings: Settings, tmp_path: Path
) -> None:
    settings.HEARTBEAT_FILE = tmp_path / "beat"
    settings.HEARTBEAT_FILE.touch()
    a_minute_ago = time.time() - 60
    os.utime(settings.HEARTBEAT_FILE, (a_minute_ago, a_minute_ago))
    assert client.get("/health/").json()["background_work"] == pytest.approx(60, abs=5)


def test_it_is_only_read(client: Client) -> None:
    assert client.post("/health/").status_code == 405
