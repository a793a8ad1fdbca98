"""The API does what its description says: requests made from it, each answer held against it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache
from typing import Any

import pytest
import schemathesis
from django.core.cache import cache as shared_cache
from django.core.handlers.wsgi import WSGIHandler
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from hypothesis import HealthCheck, settings
from schemathesis.config import SchemathesisConfig

from inventory.models.people import Role
from inventory.services.tokens import issue_token
from tests.factories import NOW, make_inspection, make_user, measure_all
from tests.project.documents import ROOT

pytestmark = pytest.mark.django_db

CONFIG = SchemathesisConfig.from_dict(
    {
        "generation": {"deterministic": True, "max-examples": 5, "no-shrink": True, "database": "none"},
        "checks": {
            # Well formed is not all: 422 says that the shop's rules or records speak against it.
            "positive_data_acceptance": {
                "expected-statuses": ["2xx", "401", "403", "404", "409", "422", "429"]
            },
        },
    }
)
schema = schemathesis.openapi.from_path(ROOT / "tests" / "project" / "openapi.yaml", config=CONFIG)


@cache
def _shop() -> WSGIHandler:
    return get_wsgi_application()


def _answer(environ: Any, start_response: Any) -> Iterable[bytes]:  # Any: WSGI's own
    """The shop, built at the first request: while tests are gathered their settings are not yet in place."""
    return _shop()(environ, start_response)


schema.app = _answer


@pytest.fixture
def one_connection() -> Iterator[None]:
    """Keep the end of a request from closing the connection that the test's transaction is in."""
    ends = (request_started, request_finished)
    for end in ends:
        end.disconnect(close_old_connections)
    yield
    for end in ends:
        end.connect(close_old_connections)


@pytest.fixture
def token(one_connection: None) -> str:
    """The owner's, in a shop with something of each kind in it."""
    shared_cache.clear()
    sitting = make_inspection()
    measure_all(sitting)
    owner = make_user(Role.OWNER)
    return f"Token {issue_token(by=owner, at=NOW).key}"


@schema.parametrize()
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])  # one shop serves all tries of a test
def test_every_answer_is_one_that_is_described(case: Any, token: str) -> None:  # Any: the tool's own
    case.call_and_validate(headers={"Authorization": token})
