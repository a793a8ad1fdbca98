"""Five hundred files of rubbish for spec sheets: never a crash, always a sentence. The seed is fixed."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from inventory import tasks
from inventory.models import ImportRun, Spec
from inventory.models.people import Role
from inventory.services.importing import runs
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.refusals import Refused
from tests.factories import NOW, make_style, make_user
from tests.inventory.services.importing.files_of_pieces import csv_of
from tests.inventory.services.importing.rubbish import damaged, damaged_package, random_csv
from tests.inventory.services.importing.test_files import workbook

FILES = 500
HEADS = (
    ["Point", "Basis", "Tolerance minus", "Tolerance plus", "Left-right limit", "Step", "size 22", "size 24"],
    ["Point", "Size", "Nominal", "Tol", "Basis", "Left-right limit"],
)
ROWS = (
    [["WA", "half", "6", "6", "6", "25", "330", "355"], ["UB", "full", "8", "8", "", "", "380", "405"],
     ["CF", "", "5", "5", "3", "5", "300", "305"]],
    [[code, size, nominal, "±6", "half", "6"] for code in ("WA", "UB", "CF")
     for size, nominal in (("22", "330"), ("24", "355"))],
)  # fmt: skip


def _file(rnd: random.Random) -> bytes:
    form = rnd.randrange(2)
    head, rows = HEADS[form], ROWS[form]
    make = rnd.randrange(5)
    if make == 0:
        return rnd.randbytes(rnd.randrange(2_000))
    if make == 1:
        return random_csv(rnd, head)
    if make == 2:
        return damaged(rnd, csv_of(rows, header=head))
    if make == 3:
        return damaged_package(rnd, workbook([head, *rows]))
    return damaged(rnd, csv_of(rows, header=head), most=3)


@pytest.mark.django_db
def test_no_file_whatever_breaks_the_import_of_specs() -> None:
    owner, style = make_user(Role.OWNER), make_style()
    rnd = random.Random(20_260_303)
    ends = {"refused": 0, "checked": 0, "told": 0, "drafted": 0}
    told: set[str] = set()
    for _ in range(FILES):
        content = _file(rnd)
        try:
            run = runs.upload_file(kind="spec", name="f", content=content, by=owner, at=NOW)
            kept = TableMapping.from_json(run.mapping)
            runs.choose_mapping(run=run, mapping=replace(kept, target=Target(style=style.code)), by=owner)
            job = runs.request_check(run=run, by=owner)
        except Refused as refusal:
            told.add(str(refusal))
            ends["refused"] += 1
            continue
        tasks.execute(job.pk)
        job.refresh_from_db()
        assert "unforeseen" not in job.error, (job.error, content)
        ends["checked" if job.state == "done" else "told"] += 1
        run.refresh_from_db()
        if run.state == ImportRun.State.CHECKED and not run.report["counts"]["errors"]:
            try:
                job = runs.request_store(run=run, accept_suspicious=True, by=owner, at=NOW)
            except Refused:  # the very same file came twice
                continue
            tasks.execute(job.pk)
            job.refresh_from_db()
            assert "unforeseen" not in job.error, (job.error, content)
            Spec.objects.all().delete()  # one draft a style at a time
            ends["drafted"] += 1
    assert min(map(len, told)) > 20
    assert min(ends.values()) > 10, ends
