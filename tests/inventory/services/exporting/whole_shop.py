"""A shop with some of everything, its export, and the road back into an empty one."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import zipfile
from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from inventory import tasks
from inventory.models import Batch, Job, Reading, Shop, User
from inventory.models.people import Role
from inventory.services.defects import add_photos, note_defect
from inventory.services.dispositions import decide_disposition
from inventory.services.exporting import runs as exporting
from inventory.services.importing import runs as importing
from inventory.services.inspections import (
    finish_inspection,
    note_unread_side,
    open_inspection,
    record_reading,
)
from inventory.services.points import retire_point
from inventory.services.specs import put_spec_in_force, revise_spec
from tests.factories import NOW, make_batch, make_delivery, make_instrument, make_maker, make_piece, make_user
from tests.inventory.services.exporting.own_measuring import (
    check_the_tape,
    know_the_kind,
    sample,
    watch_ourselves,
)
from tests.inventory.services.importing.files_of_pieces import World, bring_in, csv_of, make_world, row

LATER = NOW + dt.timedelta(hours=2)
Tables = dict[str, dict[str, Any]]  # Any: what JSON can hold


def a_shop_with_some_of_everything() -> User:
    """Imports, corrections, repeats, questions, a superseded spec, a retired point, photos, a concession.

    And of our own measuring: a checked tape, a check garment, a study, and a sample that was decided.
    """
    owner = make_user(Role.OWNER, username="ruth")
    world = make_world()
    bring_in(csv_of([row("=1+1"), row("-3", off={("WA", "L"): 9}), row("'quoted"), row("a4", "22")]), world)
    _measure_and_decide(world, owner)
    revised = revise_spec(spec=world.spec, reason="the maker's new last", by=owner, at=NOW)
    put_spec_in_force(spec=revised, by=owner, at=LATER)
    batch = Batch.objects.get(number=900)
    sample(batch, owner)
    retire_point(point=world.spec.style.points.get(code="UB"), by=owner, at=LATER)
    Shop.objects.update(name="Thimble & Sons", display_unit="in", fraction_denominator=8)
    return owner


def _measure_and_decide(world: World, owner: User) -> None:
    batch = make_batch(
        world.spec, delivery=make_delivery(maker=make_maker(note='one\ntwo, "three"'), number=900), number=900
    )
    watch_ourselves(batch, owner)  # before the piece is judged, so that it would be judged alike again
    batch = Batch.objects.get(pk=batch.pk)
    piece = make_piece(batch, number=901)
    points = {point.code: point for point in world.spec.style.points.all()}
    tape = make_instrument(number="T-9")
    check_the_tape(tape, owner)
    sitting = open_inspection(piece=piece, by=owner, at=NOW, unit="in", instrument=tape)
    for place, (code, side, typed) in enumerate((
        ("UB", "L", "15 7/8"),
        ("UB", "R", "15 7/8"),
        ("UB", "R", "15 15/16"),
        ("CF", "L", "12"),
        ("CF", "R", "305 mm"),
        ("WA", "L", "13"),
    )):  # fmt: skip
        record_reading(
            inspection=sitting, point=points[code], side=side, typed=typed, by=owner, at=NOW,
            client_key=UUID(int=place + 1),
        )  # fmt: skip
    wrong = Reading.objects.get(typed="13")
    record_reading(
        inspection=sitting, point=points["WA"], side="L", typed="13 7/8", by=owner, at=NOW,
        corrects=wrong, reason="read again",
    )  # fmt: skip
    note_unread_side(piece=piece, point=points["WA"], side="R", reason="edge torn", by=owner, at=NOW)
    for question in sitting.readings.filter(corrections=None, slip_questions__answer=""):
        question.slip_questions.update(answer="kept", answered_by=owner, answered_at=NOW)
    finish_inspection(inspection=sitting, by=owner, at=NOW)
    first, second = (SimpleUploadedFile(f"{word}.png", picture(word)) for word in ("red", "blue"))
    defect = note_defect(
        batch=batch, piece=piece, kind="burr", severity="critical", zone="A", by=owner, at=NOW, photos=[first]
    )
    know_the_kind(defect)
    add_photos(defect=defect, photos=[second], by=owner, at=LATER)
    decide_disposition(
        piece=piece, decision="concession", by=owner, at=NOW, agreed_with="the maker",
        ends_on=dt.date(2026, 9, 1), reason="good enough",
    )  # fmt: skip


def picture(colour: str) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), colour).save(out, "PNG")
    return out.getvalue()


def written(form: str, owner: User) -> bytes:
    """The file of an export, asked for and carried out as on the screen."""
    job = exporting.request_export(form=form, by=owner, at=NOW)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error
    return exporting.file_of(job).read_bytes()


def restored(content: bytes, boss: User) -> dict[str, Any]:
    """What restoring says, through upload, check and store."""
    run = importing.upload_file(kind="whole", name="x", content=content, by=boss, at=NOW)
    _done(importing.request_check(run=run, by=boss))
    run.refresh_from_db()
    assert run.report["errors"] == []
    return _done(importing.request_store(run=run, accept_suspicious=False, by=boss, at=NOW))


def _done(job: Job) -> dict[str, Any]:
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error
    return dict(job.result)


def tables_of(content: bytes) -> Tables:
    """The tables of a JSON export."""
    tables: Tables = json.loads(content)["tables"]
    return tables


def without(tables: Tables, person: str) -> Tables:
    """The tables without that person and what that person did: who restored is there besides."""
    by = {"people": "username", "imports": "created_by", "audit": "who"}
    return {
        name: {
            **table,
            "rows": [
                line
                for line in table["rows"]
                if name not in by or line[table["columns"].index(by[name])] != person
            ],
        }
        for name, table in tables.items()
    }


def pictures_in(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist() if name.startswith("photos/")}


def cells_of(content: bytes, table: str) -> list[list[str]]:
    """The lines of one table of zipped CSV."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        return list(csv.reader(io.StringIO(archive.read(f"{table}.csv").decode(), newline="")))
