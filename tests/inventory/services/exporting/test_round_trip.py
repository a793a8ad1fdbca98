"""An export goes into an empty shop and everything is as it was: same verdicts, same export again."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from typing import Any

import pytest
from django.core.management import call_command
from django.test import TransactionTestCase

from inventory import tasks
from inventory.models import (
    AuditRow,
    CheckGarment,
    Defect,
    DrawnPiece,
    ImportRun,
    MeasurePoint,
    Photo,
    Piece,
    PieceVerdict,
    PointError,
    Reading,
    Spec,
    Study,
    TapeCheck,
    User,
)
from inventory.models.people import Role
from inventory.queries.audit import history_of_piece
from inventory.queries.own.study_results import results_of
from inventory.services.exporting.cells import guarded, unguarded
from inventory.services.exporting.tables import TABLES
from inventory.services.importing import runs as importing
from inventory.services.importing.exported import read_export
from inventory.services.importing.refusals import FileNotReadable, ShopNotEmpty
from inventory.services.importing.restoring import check_empty, restore
from inventory.services.judging import judge_inspection
from inventory.services.point_errors import state_error
from inventory.services.refusals import Refused
from tests.factories import NOW, make_instrument, make_maker, make_user
from tests.inventory.services.exporting.whole_shop import (
    a_shop_with_some_of_everything,
    cells_of,
    pictures_in,
    restored,
    tables_of,
    without,
    written,
)


def _our_own() -> dict[str, Any]:  # Any: plain values of many kinds
    """What the shop would answer about its measuring, worked out from its rows."""
    study = Study.objects.get()
    piece = Piece.objects.get(number=901)
    verdict = PieceVerdict.objects.get(piece=piece, is_current=True)
    return {
        "study": [(result.point.code, result.chosen) for result in results_of(study)],
        "errors": dict(
            MeasurePoint.objects.exclude(known_error=None)
            .order_by("-code")
            .values_list("code", "known_error__origin")
        ),
        "corrected": [entry["number"] for entry in (verdict.corrections or {}).get("tapes", ())],
        "check": [(check.outcome, check.stretch_ppm) for check in TapeCheck.objects.all()],
        "garment": list(CheckGarment.objects.values_list("code", "points__code", "sittings__unit")),
        "sample": list(DrawnPiece.objects.values_list("piece__number", "position", "stratum")),
        "kinds": list(Defect.objects.values_list("known_kind__name", flat=True)),
    }


FORMS = ("csv", "json", "xlsx")
ABOUT = {"format": "measuring room export", "version": 1}
EMPTY: dict[str, list[str]] = {"columns": [], "rows": []}


class RoundTrip(TransactionTestCase):
    """Emptying the shop between writing and restoring needs real commits and a real flush."""

    def test_every_form_gives_the_same_export_again(self) -> None:
        owner = a_shop_with_some_of_everything()
        # The trail of asking for a form is part of the next one: the last written is what to compare with.
        files = {form: written(form, owner) for form in FORMS}
        before = tables_of(written("json", owner))
        assert {name for name, table in before.items() if not table["rows"]} == set()
        verdicts = PieceVerdict.objects.filter(is_current=True).count()
        for form, content in files.items():
            with self.subTest(form=form):
                after, result = self._again(content)
                assert (result["verdicts_same"], result["verdicts_other"]) == (verdicts, 0)
                wanted = _as_of(before, form)
                if form != "csv":
                    assert (result["photos_without_picture"], after["photos"]["rows"]) == (2, [])
                    wanted["photos"]["rows"] = []
                assert _sorted(after) == _sorted(wanted)

    def test_the_demo_shop_gives_the_same_export_again(self) -> None:
        call_command("load_demo", verbosity=0, stdout=io.StringIO())
        owner = User.objects.filter(role=Role.OWNER).first()
        assert owner is not None
        content = written("csv", owner)
        before = tables_of(written("json", owner))
        verdicts = PieceVerdict.objects.filter(is_current=True).count()
        assert verdicts > 50
        after, result = self._again(content)
        assert (result["verdicts_same"], result["verdicts_other"]) == (verdicts, 0)
        assert _sorted(after) == _sorted(_as_of(before, "csv"))

    def test_what_hangs_on_a_piece_hangs_on_it_in_the_restored_shop(self) -> None:
        owner = a_shop_with_some_of_everything()
        content = written("csv", owner)
        piece = Piece.objects.get(number=901)
        trail = [str(entry) for entry in history_of_piece(piece)]
        pictures = pictures_in(content)
        assert {hashlib.sha256(data).hexdigest() for data in pictures.values()} == {
            name.removeprefix("photos/").removesuffix(".png") for name in pictures
        }
        self._again(content)
        piece = Piece.objects.get(number=901)
        assert [str(entry) for entry in history_of_piece(piece)] == trail
        assert any("note defect" in line for line in trail)
        for photo in Photo.objects.all():
            with photo.original.open("rb") as original:
                assert hashlib.sha256(original.read()).hexdigest() == photo.digest
        corrected = Reading.objects.exclude(corrects=None).get()
        assert corrected.corrects is not None
        assert (corrected.typed, corrected.corrects.typed) == ("13 7/8", "13")
        assert sorted(Spec.objects.values_list("state", flat=True)) == ["in_force", "superseded"]
        ruth = User.objects.get(username="ruth")
        assert (ruth.role, ruth.has_usable_password()) == (Role.OWNER, False)
        # Judged once more, a piece is judged on the very row that its old verdict names.
        verdict = PieceVerdict.objects.get(piece=piece, is_current=True)
        again = judge_inspection(inspection=verdict.inspection, by=ruth, at=NOW)
        assert (again.basis_id, again.findings) == (verdict.basis_id, verdict.findings)

    def test_what_is_known_of_our_own_measuring_holds_in_the_restored_shop(self) -> None:
        owner = a_shop_with_some_of_everything()
        content = written("csv", owner)
        before = _our_own()
        assert before["errors"] == {"WA": "study", "CF": "stated"}
        assert before["corrected"] == ["T-9"]
        self._again(content)
        assert _our_own() == before
        ruth = User.objects.get(username="ruth")
        style = Study.objects.get().style
        newer = state_error(
            point=style.points.get(code="WA"),
            repeat_sd_nm=2_000_000,
            person_sd_nm=0,
            fixed_sd_nm=0,
            reason="a new tape",
            by=ruth,
            at=NOW,
        )
        assert newer.pk > max(PointError.objects.exclude(pk=newer.pk).values_list("pk", flat=True))

    def test_a_file_stored_before_is_recognised_in_the_restored_shop(self) -> None:
        owner = a_shop_with_some_of_everything()
        kept = ImportRun.objects.get(kind="pieces")
        with kept.file.open("rb") as file:
            content = file.read()
        self._again(written("json", owner))
        boss = User.objects.get(username="boss")
        run = importing.upload_file(kind="pieces", name="again.csv", content=content, by=boss, at=NOW)
        before = importing.stored_before(run)
        assert before is not None
        assert before.file_name == kept.file_name
        assert before.inspections.count() == 4

    def test_whoever_restores_keeps_password_and_role(self) -> None:
        owner = a_shop_with_some_of_everything()
        content = written("json", owner)
        call_command("flush", verbosity=0, interactive=False)
        ruth = make_user(Role.OWNER, username="ruth")
        restored(content, ruth)
        ruth.refresh_from_db()
        assert (ruth.role, ruth.is_active, ruth.has_usable_password()) == (Role.OWNER, True, True)

    def test_a_reading_changed_in_the_file_is_noticed(self) -> None:
        document = json.loads(written("json", a_shop_with_some_of_everything()))
        readings = document["tables"]["readings"]
        readings["rows"][0][readings["columns"].index("length_mm")] = "401"
        _, result = self._again(json.dumps(document).encode())
        assert (result["verdicts_same"], result["verdicts_other_named"]) == (4, ["P000001"])

    def test_a_picture_changed_in_the_file_is_noticed_and_nothing_is_kept(self) -> None:
        content = written("csv", a_shop_with_some_of_everything())
        out = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
            for name in old.namelist():
                data = old.read(name)
                new.writestr(name, data[:-1] + b"\0" if name.startswith("photos/") else data)
        call_command("flush", verbosity=0, interactive=False)
        boss = make_user(Role.OWNER, username="boss")
        run = importing.upload_file(kind="whole", name="x", content=out.getvalue(), by=boss, at=NOW)
        job = importing.request_check(run=run, by=boss)
        tasks.execute(job.pk)
        run.refresh_from_db()
        assert "is not the one that was written" in run.report["errors"][0][2]
        assert Piece.objects.count() == 0

    def _again(self, content: bytes) -> tuple[dict[str, dict[str, Any]], dict[str, Any]]:
        """What a shop restored from this file writes, without what its new owner did; and what was said."""
        call_command("flush", verbosity=0, interactive=False)
        boss = make_user(Role.OWNER, username="boss")
        make_audit_row(boss)
        result = restored(content, boss)
        return without(tables_of(written("json", boss)), "boss"), result


def make_audit_row(boss: User) -> None:
    """What somebody did in the new shop before restoring: the old trail must not get mixed up with it."""
    AuditRow.objects.create(
        at=NOW, who=boss, deed="look round", subject_type="user", subject_id=boss.pk, subject_label="boss"
    )


def _as_of(before: dict[str, Any], form: str) -> dict[str, Any]:
    """The tables as they stood when this form was written: without the trail of forms asked for later."""
    trail = before["audit"]["rows"]
    asked = [place for place, line in enumerate(trail) if "ask for export" in line]
    rows = trail[: asked[FORMS.index(form)] + 1]
    return {**before, "audit": {**before["audit"], "rows": rows}, "photos": dict(before["photos"])}


def _sorted(tables: dict[str, Any]) -> dict[str, Any]:
    return {name: table["rows"] for name, table in tables.items()}


def test_texts_that_a_spreadsheet_would_run_are_neutral_in_the_file() -> None:
    for text in ("=1+1", "+x", "-x", "@x", "\tx", "'=1", "''", "'", "", "plain", "a=b"):
        assert unguarded(guarded(text)) == text
    for text in ("=1+1", "+x", "-x", "@x"):
        assert guarded(text)[0] == "'"


@pytest.mark.django_db
@pytest.mark.parametrize("form", FORMS)
def test_texts_and_documents_of_any_signs_come_back(form: str) -> None:
    texts = ["one\r\ntwo", "\r", "_x000D_", "_x005F_x000D_", " 007 ", "1e5", "''=1", "#N/A"]
    document = {"note": "x\ufffey \x01 =", "long": "=" * 33_000}
    owner, maker = make_user(Role.OWNER), make_maker()
    for text in texts:
        make_maker(note=text)
        AuditRow.objects.create(
            at=NOW, who=owner, deed="note", subject_type="maker", subject_id=maker.pk, subject_label="m",
            detail={**document, "text": text},
        )  # fmt: skip
    tables = read_export(written(form, owner))
    assert [maker["note"] for maker in tables["makers"]][1:] == texts
    details = [json.loads(line["detail"]) for line in tables["audit"] if line["deed"] == "note"]
    assert details == [{**document, "text": text} for text in texts]


@pytest.mark.django_db
def test_no_cell_of_an_exported_table_begins_like_a_formula() -> None:
    owner = a_shop_with_some_of_everything()
    make_maker(name="=HYPERLINK(1)", note="@SUM(A1)", country="+1", governing_law="-x")
    content = written("csv", owner)
    for table in TABLES:
        for line in cells_of(content, table.name):
            for cell in line:
                assert not cell.startswith(("=", "+", "@", "\t", "\r")), (table.name, cell)
                assert not cell.startswith("-") or float(cell) < 0, (table.name, cell)
    assert "'=HYPERLINK(1)" in [line[2] for line in cells_of(content, "makers")]


@pytest.mark.django_db
def test_an_export_is_not_restored_over_a_shop_that_holds_something() -> None:
    owner = a_shop_with_some_of_everything()
    content = written("json", owner)
    with pytest.raises(ShopNotEmpty, match="This shop has 2 makers already"):
        importing.upload_file(kind="whole", name="x.json", content=content, by=owner, at=NOW)
    with pytest.raises(ShopNotEmpty):
        restore(read_export(content), {}, said=lambda _what: None)


@pytest.mark.django_db
def test_a_shop_with_nothing_but_a_tape_is_not_empty_either() -> None:
    make_instrument()
    with pytest.raises(Refused, match="This shop has 1 tapes already"):
        check_empty()


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
            "lacks id, code",
        ),
    ],
)
def test_what_is_no_export_is_refused_with_a_sentence(content: bytes, sentence: str) -> None:
    with pytest.raises(FileNotReadable, match=sentence):
        read_export(content)


@pytest.mark.parametrize(
    ("table", "column", "value", "sentence"),
    [
        ("readings", "side", "X", "Table readings, row 2: side holds 'X'"),
        ("readings", "repeat", 70_000, "repeat holds 70000, which is not from 0 to 32767"),
        ("readings", "length_mm", "long", "length_mm holds 'long', which is no length in millimetres"),
        ("makers", "id", -1, "id holds -1, which is no number of a row"),
        ("pieces", "standing", "", "standing is empty, and must not be"),
        ("specs", "created_at", "yesterday", "which is no moment with its zone"),
        ("makers", "name", "x" * 200, "at most 120 characters"),
        ("makers", "name", ["a", "list"], "which is no single value"),
    ],
)
@pytest.mark.django_db
def test_a_value_its_column_cannot_hold_is_named(
    table: str, column: str, value: object, sentence: str
) -> None:
    document = json.loads(written("json", a_shop_with_some_of_everything()))
    of_table = document["tables"][table]
    of_table["rows"][0][of_table["columns"].index(column)] = value
    with pytest.raises(FileNotReadable, match=sentence):
        read_export(json.dumps(document).encode())


def test_every_field_of_every_table_is_written() -> None:
    """A field added to a model has to be in the export, or left out on purpose."""
    left_out = {
        "people": {"password", "last_login", "is_superuser", "is_staff", "date_joined"},
        "imports": {"file", "job"},
        "points": {"known_error"},  # the newest of the point's errors: worked out again
    }
    for table in TABLES:
        there = {column.path.partition("__")[0] for column in table.columns} | {
            ref.field for ref in table.refs
        }
        fields = {field.name for field in table.model._meta.concrete_fields if not field.primary_key}
        assert fields - there == left_out.get(table.name, set()), table.name
