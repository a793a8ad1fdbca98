"""Five hundred spoilt exports: never a crash, always a sentence, and never a shop that is half there."""

from __future__ import annotations

import io
import json
import random
import resource
import zipfile
from copy import deepcopy
from typing import Any

import pytest
from django.db import transaction

from inventory import tasks
from inventory.models import Maker, Photo, Piece, User
from inventory.models.people import Role
from inventory.services.exporting.writing import FORMAT, VERSION
from inventory.services.importing import restored_rows, runs
from inventory.services.importing.exported import read_export
from inventory.services.importing.refusals import FileNotReadable
from inventory.services.refusals import Refused
from tests.factories import NOW, make_user
from tests.inventory.services.exporting.whole_shop import a_shop_with_some_of_everything, written
from tests.inventory.services.importing.rubbish import TEXTS, damaged, damaged_package, random_text

FILES = 500
ABOUT = json.dumps({"format": FORMAT, "version": VERSION})
VALUES: tuple[Any, ...] = (None, True, -1, 0, 7, 2**63, 1e300, [], {}, ["x"], "\ud800", "\0", *TEXTS)


@pytest.fixture
def whole() -> dict[str, bytes]:
    """The three forms of one shop; the shop itself is taken back, so that this one is empty."""
    with transaction.atomic():
        owner = a_shop_with_some_of_everything()
        files = {form: written(form, owner) for form in ("json", "csv", "xlsx")}
        transaction.set_rollback(True)
    assert not Maker.objects.exists()
    return files


def _edited(rnd: random.Random, document: dict[str, Any]) -> bytes:
    """A document in good order that says something else."""
    document = deepcopy(document)
    tables = document["tables"]
    for _ in range(rnd.randrange(1, 4)):
        name = rnd.choice(sorted(tables))
        rows = tables[name]["rows"]
        way = rnd.random()
        if not rows or way < 0.04:
            del tables[name]
        elif way < 0.12:
            rows.append(deepcopy(rnd.choice(rows)))
        elif way < 0.2:
            rows.pop(rnd.randrange(len(rows)))
        elif way < 0.25:
            tables[name]["columns"].pop()
        else:
            line = rnd.choice(rows)
            other = rnd.choice(rows)
            place = rnd.randrange(len(line))
            line[place] = rnd.choice((rnd.choice(VALUES), random_text(rnd), other[place]))
    return json.dumps(document).encode()


def _file(rnd: random.Random, whole: dict[str, bytes], document: dict[str, Any]) -> bytes:
    way = rnd.random()
    if way < 0.06:
        return rnd.randbytes(rnd.randrange(2_000))
    if way < 0.55:
        return _edited(rnd, document)
    if way < 0.7:
        return damaged(rnd, whole["json"], most=6)
    return damaged_package(rnd, whole["csv"] if way < 0.9 else whole["xlsx"])


@pytest.mark.django_db
def test_no_export_whatever_breaks_restoring(whole: dict[str, bytes]) -> None:
    boss = make_user(Role.OWNER, username="boss")
    document = json.loads(whole["json"])
    rnd = random.Random(20_260_304)
    ends = {"refused": 0, "errors": 0, "told": 0, "restored": 0}
    told: set[str] = set()
    for _ in range(FILES):
        with transaction.atomic():
            end, sentence = _end_of(_file(rnd, whole, document), boss)
            ends[end] += 1
            told.add(sentence)
            if end != "restored":
                assert not Piece.objects.exists()
                assert User.objects.count() == 1
            transaction.set_rollback(True)
    assert min(map(len, told - {""})) > 20
    assert min(ends.values()) > 5, ends


def _end_of(content: bytes, boss: User) -> tuple[str, str]:
    try:
        run = runs.upload_file(kind="whole", name="f", content=content, by=boss, at=NOW)
    except Refused as refusal:
        return "refused", str(refusal)
    checked = runs.request_check(run=run, by=boss)
    tasks.execute(checked.pk)
    checked.refresh_from_db()
    assert "unforeseen" not in checked.error, (checked.error, content[:3_000])
    try:
        job = runs.request_store(run=run, accept_suspicious=True, by=boss, at=NOW)
    except Refused as refusal:
        return "errors", str(refusal)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert "unforeseen" not in job.error, (job.error, content[:3_000])
    return ("restored", "") if job.state == "done" else ("told", job.error)


@pytest.mark.django_db
def test_a_picture_that_is_none_is_not_kept(whole: dict[str, bytes]) -> None:
    """Bytes with the right digest that no camera wrote: a page, say."""
    import hashlib  # noqa: PLC0415

    page = b"<script>alert(1)</script>" * 9
    digest = hashlib.sha256(page).hexdigest()
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole["csv"])) as old, zipfile.ZipFile(out, "w") as new:
        first = next(name for name in old.namelist() if name.startswith("photos/"))
        known = first.removeprefix("photos/").removesuffix(".png")
        for name in old.namelist():
            data = page if name == first else old.read(name)
            new.writestr(name.replace(known, digest), data.replace(known.encode(), digest.encode()))
    boss = make_user(Role.OWNER, username="boss")
    end, sentence = _end_of(out.getvalue(), boss)
    assert (end, "cannot be read as a photo" in sentence) == ("told", True)
    assert Photo.objects.count() == 0


@pytest.mark.django_db
def test_a_picture_damaged_in_the_file_is_told_by_its_name(whole: dict[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(whole["csv"])) as archive:
        first = next(entry for entry in archive.infolist() if entry.filename.startswith("photos/"))
    torn = bytearray(whole["csv"])
    middle = first.header_offset + 30 + len(first.filename) + first.compress_size // 2
    torn[middle] ^= 0xFF
    boss = make_user(Role.OWNER, username="boss")
    run = runs.upload_file(kind="whole", name="f", content=bytes(torn), by=boss, at=NOW)
    tasks.execute(runs.request_check(run=run, by=boss).pk)
    run.refresh_from_db()
    assert run.report["errors"] == [
        [0, "photos", f"Picture {first.filename} is not the one that was written. Write a new export."]
    ]


def _zip_of(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return out.getvalue()


def _peak_mb() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


@pytest.mark.parametrize("part", ["makers.csv", "xl/sharedStrings.xml", "about.json"])
def test_a_small_file_that_unpacks_to_a_giant_is_refused_unread(part: str) -> None:
    """Written a megabyte at a time, so that the test itself needs no more."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        if part != "about.json":
            archive.writestr("about.json" if part.endswith(".csv") else "[Content_Types].xml", ABOUT)
        with archive.open(part, "w", force_zip64=True) as giant:
            for _ in range(1_100):
                giant.write(bytes(1024 * 1024))
    before = _peak_mb()
    with pytest.raises(FileNotReadable, match=r"more than is read|is no export"):
        read_export(out.getvalue())
    assert _peak_mb() - before < 200


def test_a_table_of_endless_short_rows_is_left_in_time(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(restored_rows, "MOST_ROWS", 1_000)
    head = (
        b"id,code,name,country,language,email,notice_window_days,window_source,governing_law,note,is_active\n"
    )
    lines = b"".join(b"%d,m%d,x,,en,,,,,,yes\n" % (number, number) for number in range(1, 2_000))
    with pytest.raises(FileNotReadable, match="holds more than 1,000 rows"):
        read_export(_zip_of({"about.json": ABOUT.encode(), "makers.csv": head + lines}))


def test_a_document_nested_without_end_is_refused() -> None:
    with pytest.raises(FileNotReadable, match="no export"):
        read_export(b"[" * 200_000)
