"""An export goes into an empty shop and everything is as it was."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any

import pytest
from django.core.management import call_command
from django.test import TransactionTestCase

from inventory import tasks
from inventory.models import Job, PieceVerdict, Reading, Shop, User
from inventory.models.people import Role
from inventory.services.dispositions import decide_disposition
from inventory.services.exporting import runs as exporting
from inventory.services.exporting.cells import guarded, plain, unguarded
from inventory.services.exporting.tables import TABLES
from inventory.services.importing import runs as importing
from inventory.services.importing.exported import read_export
from inventory.services.importing.refusals import FileNotReadable, ShopNotEmpty
from inventory.services.importing.restoring import restore
from inventory.services.inspections import (
    finish_inspection,
    note_unread_side,
    open_inspection,
    record_reading,
)
from tests.factories import (
    NOW,
    make_batch,
    make_defect,
    make_delivery,
    make_instrument,
    make_maker,
    make_piece,
    make_user,
)
from tests.inventory.services.importing.files_of_pieces import bring_in, csv_of, make_world, row

FORMS = ("json", "csv", "xlsx")
ABOUT = {"format": "measuring room export", "version": 1}
EMPTY: dict[str, list[str]] = {"columns": [], "rows": []}


def a_shop_with_some_of_everything() -> User:
    owner = make_user(Role.OWNER, username="ruth")
    world = make_world()
    bring_in(csv_of([row("=1+1"), row("-3", off={("WA", "L"): 9}), row("'quoted"), row("a4", "22")]), world)
    spec = world.spec
    batch = make_batch(
        spec, delivery=make_delivery(maker=make_maker(note='one\ntwo, "three"'), number=900), number=900
    )
    piece = make_piece(batch, number=901)
    points = {point.code: point for point in spec.style.points.all()}
    sitting = open_inspection(
        piece=piece, by=owner, at=NOW, unit="in", instrument=make_instrument(number="T-9")
    )
    for code, side, typed in (
        ("UB", "L", "15 7/8"),
        ("UB", "R", "15 7/8"),
        ("CF", "L", "12"),
        ("CF", "R", "305 mm"),
        ("WA", "L", "13"),
    ):
        record_reading(inspection=sitting, point=points[code], side=side, typed=typed, by=owner, at=NOW)
    wrong = Reading.objects.get(typed="13")
    record_reading(
        inspection=sitting,
        point=points["WA"],
        side="L",
        typed="13 7/8",
        by=owner,
        at=NOW,
        corrects=wrong,
        reason="read again",
    )
    note_unread_side(piece=piece, point=points["WA"], side="R", reason="edge torn", by=owner, at=NOW)
    for question in sitting.readings.filter(corrections=None, slip_questions__answer=""):
        question.slip_questions.update(answer="kept", answered_by=owner, answered_at=NOW)
    finish_inspection(inspection=sitting, by=owner, at=NOW)
    make_defect(piece)
    decide_disposition(
        piece=piece, decision="concession", by=owner, at=NOW, agreed_with="the maker",
        ends_on=dt.date(2026, 9, 1), reason="good enough",
    )  # fmt: skip
    Shop.objects.update(name="Thimble & Sons", display_unit="in", fraction_denominator=8)
    return owner


def written(form: str, owner: User) -> bytes:
    job = exporting.request_export(form=form, by=owner, at=NOW)
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error
    return exporting.file_of(job).read_bytes()


def everything() -> dict[str, list[Any]]:
    """All tables that are restored, without the numbers that are only keys of this database."""
    found = {}
    for table in TABLES:
        if not table.restored or table.name in ("people",):
            continue
        keep = [
            place
            for place, column in enumerate(table.columns)
            if column.kind != "key" and column.name not in KEYS
        ]
        found[table.name] = [
            [plain(line[place], table.columns[place].kind) for place in keep] for line in table.rows()
        ]
    return found


KEYS = {"inspection", "reading", "corrects"}
"""Columns that name rows by keys of the database they came from."""


class RoundTrip(TransactionTestCase):
    """Emptying the shop between writing and restoring needs real commits and a real flush."""

    def test_every_form_gives_back_every_row_and_every_verdict(self) -> None:
        owner = a_shop_with_some_of_everything()
        files = {form: written(form, owner) for form in FORMS}
        before = everything()
        assert {name for name, rows in before.items() if not rows} == set()
        for form, content in files.items():
            with self.subTest(form=form):
                result = self._restored(content, form)
                assert everything() == before
                assert result["verdicts_other"] == 0
                assert result["verdicts_same"] == PieceVerdict.objects.filter(is_current=True).count() == 5
                corrected = Reading.objects.exclude(corrects=None).get()
                assert corrected.corrects is not None
                assert (corrected.typed, corrected.corrects.typed) == ("13 7/8", "13")
                restored = User.objects.get(username="ruth")
                assert (restored.role, restored.is_active) == (Role.OWNER, False)
                assert not restored.has_usable_password()

    def test_a_reading_changed_in_the_file_is_noticed(self) -> None:
        document = json.loads(written("json", a_shop_with_some_of_everything()))
        readings = document["tables"]["readings"]
        place = readings["columns"].index("length_mm")
        readings["rows"][0][place] = "401"
        result = self._restored(json.dumps(document).encode(), "json")
        assert (result["verdicts_same"], result["verdicts_other_named"]) == (4, ["P000001"])

    def _restored(self, content: bytes, form: str) -> dict[str, Any]:
        call_command("flush", verbosity=0, interactive=False)
        boss = make_user(Role.OWNER, username="boss")
        run = importing.upload_file(kind="whole", name=f"x.{form}", content=content, by=boss, at=NOW)
        _done(importing.request_check(run=run, by=boss))
        return _done(importing.request_store(run=run, accept_suspicious=False, by=boss, at=NOW))


def _done(job: Job) -> dict[str, Any]:
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error
    return dict(job.result)


def test_texts_that_a_spreadsheet_would_run_are_neutral_in_the_file() -> None:
    for text in ("=1+1", "+x", "-x", "@x", "\tx", "'=1", "''", "'", "", "plain", "a=b"):
        assert unguarded(guarded(text)) == text
    for text in ("=1+1", "+x", "-x", "@x"):
        assert guarded(text)[0] == "'"


@pytest.mark.django_db
def test_an_export_is_not_restored_over_a_shop_that_holds_something() -> None:
    owner = a_shop_with_some_of_everything()
    content = written("json", owner)
    with pytest.raises(ShopNotEmpty, match="This shop has 2 makers already"):
        importing.upload_file(kind="whole", name="x.json", content=content, by=owner, at=NOW)
    with pytest.raises(ShopNotEmpty):
        restore(read_export(content))


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"{}", "no export of this program"),
        (b"[1, 2]", "no export of this program"),
        (b"Piece,Size\n", "no export of this program"),
        (b'{"format": "measuring room export", "version": 99}', "of version 99"),
        (
            json.dumps({**ABOUT, "tables": {"makers": EMPTY}}).encode(),
            "lacks code",
        ),
    ],
)
def test_what_is_no_export_is_refused_with_a_sentence(content: bytes, sentence: str) -> None:
    with pytest.raises(FileNotReadable, match=sentence):
        read_export(content)


def test_every_field_of_every_table_is_written() -> None:
    """A field added to a model has to be in the export, or left out on purpose."""
    left_out = {
        "people": {"password", "last_login", "is_superuser", "is_staff", "date_joined"},
        "inspections": {"import_run"},
    }
    for table in TABLES:
        there = {column.path.partition("__")[0] for column in table.columns} | {
            ref.field for ref in table.refs
        }
        fields = {field.name for field in table.model._meta.concrete_fields if not field.primary_key}
        assert fields - there == left_out.get(table.name, set()), table.name
