"""Five hundred files of rubbish: never a crash, always a sentence. The seed is fixed."""

from __future__ import annotations

import csv
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

FILES = 500
SIGNS = "0123456789 ./,-½¼\"'=+@;:\t\nabcWAUBLR\0\x0b\u2028é漢"
TEXTS = (
    "WA L",
    "24",
    "330",
    "13 1/2",
    "3/8",
    "2024-08-03",
    "Total",
    "",
    " ",
    "#REF!",
    "-",
    "1e400",
    "=1+1",
    "9" * 60,
)


def _bytes(rnd: random.Random) -> bytes:
    return rnd.randbytes(rnd.randrange(2_000))


def _csv(rnd: random.Random) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=rnd.choice(",;\t"))
    writer.writerow(rnd.sample(HEADER, rnd.randrange(1, len(HEADER))) + rnd.choices(TEXTS, k=2))
    for _ in range(rnd.randrange(12)):
        cells = [rnd.choice(TEXTS) if rnd.random() < 0.6 else _text(rnd) for _ in range(rnd.randrange(14))]
        writer.writerow(cells)
    return out.getvalue().encode(rnd.choice(("utf-8", "utf-16", "utf-8-sig")), errors="replace")


def _text(rnd: random.Random) -> str:
    return "".join(rnd.choices(SIGNS, k=rnd.randrange(20)))


def _damaged_csv(rnd: random.Random) -> bytes:
    content = bytearray(csv_of([row(f"a{n}") for n in range(5)]))
    for _ in range(rnd.randrange(1, 30)):
        content[rnd.randrange(len(content))] = rnd.randrange(256)
    return bytes(content[: rnd.randrange(len(content))] if rnd.random() < 0.3 else content)


def _damaged_workbook(rnd: random.Random, whole: bytes) -> bytes:
    if rnd.random() < 0.4:
        content = bytearray(whole)
        for _ in range(rnd.randrange(1, 10)):
            content[rnd.randrange(len(content))] = rnd.randrange(256)
        return bytes(content[: rnd.randrange(100, len(content))] if rnd.random() < 0.4 else content)
    # Damage inside the parts, packed again in good order, so that it reaches the reader of sheets.
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        victim = rnd.choice(old.namelist())
        for name in old.namelist():
            part = bytearray(old.read(name))
            if name == victim and part:
                for _ in range(rnd.randrange(1, 8)):
                    part[rnd.randrange(len(part))] = rnd.randrange(256)
                if rnd.random() < 0.3:
                    del part[rnd.randrange(len(part)) :]
            if name != victim or rnd.random() < 0.9:
                new.writestr(name, bytes(part))
    return out.getvalue()


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
        return _bytes(rnd)
    if make == 1:
        return _csv(rnd)
    return _damaged_csv(rnd) if make == 2 else _damaged_workbook(rnd, whole)


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
