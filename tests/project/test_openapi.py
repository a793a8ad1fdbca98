"""The API's description as committed is the one that is served, and says all there is to say."""

from __future__ import annotations

import io

import yaml
from django.core.management import call_command

from tests.project.documents import ROOT

SNAPSHOT = ROOT / "tests" / "project" / "openapi.yaml"


def test_the_committed_description_of_the_api_is_current() -> None:
    described = io.StringIO()
    call_command("spectacular", fail_on_warn=True, validate=True, stdout=described)
    # What other programs rely on changes on purpose only:
    # manage.py spectacular --file tests/project/openapi.yaml
    assert SNAPSHOT.read_text() == described.getvalue()


def test_every_operation_has_one_line_that_says_what_it_does() -> None:
    operations = [
        (f"{verb} {path}", operation)
        for path, verbs in yaml.safe_load(SNAPSHOT.read_text())["paths"].items()
        for verb, operation in verbs.items()
    ]
    long = {name: done["summary"] for name, done in operations if not 5 < len(done["summary"]) < 70}
    assert (len(operations) > 30, long) == (True, {})


def test_the_description_begins_with_how_to_sign_in_and_the_way_back() -> None:
    said = yaml.safe_load(SNAPSHOT.read_text())["info"]["description"]
    for word in (
        "[Back to the shop](/)",
        "`POST /api/v1/token/`",
        "`Authorization: Token …`",
        "`client_key`",
    ):
        assert word in said
