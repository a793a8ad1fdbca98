"""Ask for the page of a batch as a signed-in person, and count what it asks the database."""

from __future__ import annotations

import json
from http import HTTPStatus
from statistics import median
from typing import TYPE_CHECKING

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from deploy.benchmarks.rounds import RUNS, seconds
from inventory.models import User

if TYPE_CHECKING:
    from collections.abc import Sequence


def main(arguments: Sequence[str]) -> None:
    """`BATCH …`: print for each its number of statements and the median seconds of its page."""
    client = Client(headers={"host": "localhost"})
    client.force_login(User.objects.get(username="inspector"))
    found = []
    for number in arguments:
        page = f"/batches/B{int(number):04d}/"
        _get(client, page)  # the plans of the spec are kept in memory from the first page on
        with CaptureQueriesContext(connection) as asked:
            _get(client, page)
            statements = len(asked)  # now: the next request forgets them
        times = [seconds(lambda page=page: _get(client, page)) for _ in range(RUNS)]  # type: ignore[misc]  # a lambda with a default
        found.append({"statements": statements, "seconds": median(times)})
    print(json.dumps(found))


def _get(client: Client, page: str) -> None:
    answer = client.get(page)
    if answer.status_code != HTTPStatus.OK:
        raise RuntimeError(f"{page} answered {answer.status_code}")
