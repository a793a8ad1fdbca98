"""Five hundred files of rubbish for measured pieces: never a crash, always a sentence. The seed is fixed."""

from __future__ import annotations

import io
import random
import zipfile

import pytest
from openpyxl import Workbook

from inventory import tasks
from inventory.models import ImportRun, Piece
from inventory.services.importing import runs
from inventory.services.importing.files import read_table
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.refusals import Refused
from tests.factories import NOW
from tests.inventory.services.importing.files_of_pieces import HEADER, csv_of, make_world, row
from tests.inventory.services.importing.rubbish import damaged, damaged_package, random_csv

FILES = 500


def _workbook() -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(HEADER)
    for number in range(5):
        sheet.append([str(cell) for cell in row(f"a{number}")])
    sheet.append(["b", "24", "black", 405.5, 405, NOW.replace(tzinfo=None), 355, 305, 305])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _file(rnd: random.Random, whole: bytes) -> bytes:
    make = rnd.randrange(4)
    if make == 0:
        return rnd.randbytes(rnd.randrange(2_000))
    if make == 1:
        return random_csv(rnd, HEADER)
    if make == 2:
        return damaged(rnd, csv_of([row(f"a{n}") for n in range(5)]))
    return damaged_package(rnd, whole)


@pytest.mark.django_db
def test_no_file_whatever_breaks_the_import() -> None:
    world = make_world()
    rnd = random.Random(20_260_302)
    whole = _workbook()
    told: set[str] = set()
    ends = {"refused": 0, "checked": 0, "told": 0}
    for _ in range(FILES):
        content = _file(rnd, whole)
        try:
            run = runs.upload_file(kind="pieces", name="f", content=content, by=world.inspector, at=NOW)
        except Refused as refusal:
            told.add(str(refusal))
            ends["refused"] += 1
            continue
        kept = TableMapping.from_json(run.mapping)
        try:
            runs.choose_mapping(run=run, mapping=_with_target(kept, world.target), by=world.inspector)
        except Refused:
            continue
        job = runs.request_check(run=run, by=world.inspector)
        tasks.execute(job.pk)
        job.refresh_from_db()
        assert "unforeseen" not in job.error, (job.error, content)
        ends["checked" if job.state == "done" else "told"] += 1
    assert min(map(len, told)) > 20
    assert min(ends.values()) > 20, ends
    assert Piece.objects.count() == 0
    assert ImportRun.objects.filter(state="checking").count() == 0


def _with_target(kept: TableMapping, target: Target) -> TableMapping:
    return TableMapping.from_json(
        {**kept.as_json(), "target": TableMapping(target=target).as_json()["target"]}
    )


def test_a_small_file_that_unpacks_to_a_giant_is_not_unpacked() -> None:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        with archive.open("xl/worksheets/sheet1.xml", "w") as part:
            for _ in range(450):
                part.write(b"0" * (1024 * 1024))
    assert len(out.getvalue()) < 1024 * 1024
    with pytest.raises(Refused, match="which is more than is read"):
        read_table(out.getvalue())
