"""The work of an import, and what is said of it when it does not end well."""

from __future__ import annotations

import pytest

from inventory import tasks
from inventory.services.importing import runs
from inventory.services.importing.carrying_out import carry_out_check
from inventory.services.jobs import JobLost
from tests.inventory.services.importing.files_of_pieces import csv_of, make_world, row, upload

pytestmark = pytest.mark.django_db


def test_work_that_was_overtaken_says_nothing_of_what_the_other_has_done() -> None:
    world = make_world()
    run = upload(csv_of([row("a1")]), world)
    overtaken = runs.request_check(run=run, by=world.inspector)
    tasks.execute(overtaken.pk)
    with pytest.raises(JobLost):
        carry_out_check(overtaken)
    run.refresh_from_db()
    assert (run.state, run.report["counts"]["pieces"]) == ("checked", 1)
