"""The API's description as committed is the one that is served, and says all there is to say."""

from __future__ import annotations

import io

from django.core.management import call_command

from tests.project.documents import ROOT

SNAPSHOT = ROOT / "tests" / "project" / "openapi.yaml"


def test_the_committed_description_of_the_api_is_current() -> None:
    described = io.StringIO()
    call_command("spectacular", fail_on_warn=True, validate=True, stdout=described)
    # What other programs rely on changes on purpose only:
    # manage.py spectacular --file tests/project/openapi.yaml
    assert SNAPSHOT.read_text() == described.getvalue()
