"""Bringing in files through the API, step by step, for each role."""

from __future__ import annotations

import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from pytest_django import DjangoAssertNumQueries
from rest_framework.test import APIClient

from inventory import tasks
from inventory.models import ImportRun, Job, MeasurePoint, Piece, PieceVerdict
from inventory.models.people import Role
from inventory.services.exporting.writing import write_export
from inventory.services.importing import files, runs
from inventory.services.pieces import PieceCount, number_pieces
from tests.factories import NOW, PointRecipe, make_batch, make_style, make_user
from tests.inventory.api.cast import Json, client_of, is_asked_to_sign_in, problem, stranger
from tests.inventory.services.importing.files_of_pieces import HEADER, World, csv_of, make_world, row
from tests.inventory.services.importing.test_namesakes import called

pytestmark = pytest.mark.django_db

IMPORTS = "/api/v1/imports/"
GOOD = csv_of([row("a1"), row("a2", off={("WA", "L"): 40})])


def upload(client: APIClient, content: bytes = GOOD, *, kind: str = "pieces", name: str = "p.csv") -> Json:
    return client.post(IMPORTS, {"kind": kind, "file": SimpleUploadedFile(name, content)}, format="multipart")


def target_of(world: World) -> dict[str, object]:
    return {
        "target": {
            "maker": world.target.maker,
            "style": world.target.style,
            "order": "PO-7",
            "arrived_on": "2026-03-01",
        }
    }


def work_off() -> None:
    for job in Job.objects.open():
        tasks.execute(job.pk)


@pytest.mark.parametrize("role", [Role.OWNER, Role.INSPECTOR])
def test_a_file_goes_from_upload_to_its_pieces(role: str) -> None:
    world, client = make_world(), client_of(role)
    uploaded = upload(client)
    assert uploaded.status_code == 201
    run = uploaded.json()
    assert (run["state"], run["report"], run["stored"], run["job"]) == ("uploaded", None, {}, None)
    assert [column["role"] for column in run["mapping"]["columns"]][:4] == [
        "reference",
        "size",
        "colour",
        "point:UB:L",
    ]
    there = f"{IMPORTS}{run['id']}/"
    chosen = client.patch(f"{there}mapping/", target_of(world)).json()
    assert chosen["mapping"]["target"]["arrived_on"] == "2026-03-01"
    assert chosen["mapping"]["columns"] == run["mapping"]["columns"]
    asked = client.post(f"{there}check/")
    assert (asked.status_code, asked.json()["state"], asked.json()["job"]["state"]) == (
        202,
        "checking",
        "waiting",
    )
    work_off()
    checked = client.get(there).json()
    assert (checked["state"], checked["report"]["counts"]["pieces"]) == ("checked", 2)
    assert checked["report"]["errors"] == []
    stored = client.post(f"{there}store/", {"accept_suspicious": True})
    assert stored.status_code == 202
    work_off()
    done = client.get(there).json()
    assert (done["state"], done["job"]["state"], done["job"]["percent"]) == ("stored", "done", 100)
    assert done["stored"]["batches"]
    assert Piece.objects.count() == PieceVerdict.objects.count() == 2
    assert client.get(IMPORTS).json()["results"][0]["id"] == run["id"]


def test_suspicious_cells_are_named_and_stored_only_when_accepted() -> None:
    world, client = make_world(), client_of()
    run = upload(client, csv_of([row("a1", off={("WA", "L"): 355})])).json()
    there = f"{IMPORTS}{run['id']}/"
    client.patch(f"{there}mapping/", target_of(world))
    client.post(f"{there}check/")
    work_off()
    (cell,) = client.get(there).json()["report"]["suspicious"]
    assert (cell["row"], cell["column"], cell["typed"]) == (2, "WA L", "710")
    refused = problem(
        client.post(f"{there}store/", {}), 422, says="looks like", kind="/problems/suspicions-open"
    )
    assert [entry["pointer"] for entry in refused["errors"]] == ["/accept_suspicious"]
    assert client.post(f"{there}store/", {"accept_suspicious": True}).status_code == 202


def test_pieces_are_added_to_a_batch_that_is_there() -> None:
    world, client = make_world(), client_of()
    batch = make_batch(world.spec)
    (waiting,) = number_pieces(batch=batch, counts=[PieceCount("24", 1)], by=world.inspector, at=NOW)
    run = upload(client, csv_of([row(waiting.label), row("a2")])).json()
    there = f"{IMPORTS}{run['id']}/"
    assert run["mapping"]["target"]["into"] == ""
    for label in ("B0999", "P000001", "x"):
        body = problem(
            client.patch(f"{there}mapping/", {"target": {"into": label}}),
            422,
            says=f"There is no delivery or batch {label!r}",
        )
        assert [entry["pointer"] for entry in body["errors"]] == ["/target/into"]
    chosen = client.patch(f"{there}mapping/", {"target": {"into": batch.label.lower()}}).json()
    assert chosen["mapping"]["target"]["into"] == batch.label
    client.post(f"{there}check/")
    work_off()
    counts = client.get(there).json()["report"]["counts"]
    assert (counts["batches"], counts["pieces"], counts["numbered_before"]) == (0, 2, 1)
    client.post(f"{there}store/", {})
    work_off()
    assert client.get(there).json()["stored"]["batches"] == [batch.number]
    assert list(PieceVerdict.objects.order_by("piece").values_list("piece__batch", "shelf")) == [
        (batch.pk, "in"),
        (batch.pk, "in"),
    ]


def test_figures_that_heap_are_told_by_person_and_point() -> None:
    world, client = make_world(), client_of()
    run = upload(client, csv_of([row(f"a{number}") for number in range(60)])).json()
    there = f"{IMPORTS}{run['id']}/"
    client.patch(f"{there}mapping/", target_of(world))
    client.post(f"{there}check/")
    work_off()
    heaps = client.get(there).json()["report"]["heaps"]
    waist = next(
        heap for heap in heaps if (heap["what"], heap["kind"]) == ("point WA", "exactly the nominal")
    )
    assert waist["readings"] == waist["count"] == 120
    assert waist["expected"] < waist["count"]


def test_errors_are_told_by_row_and_column_and_nothing_is_stored() -> None:
    world, client = make_world(), client_of()
    run = upload(client, csv_of([[*row("a1")[:3], "3 5", *row("a1")[4:]]])).json()
    there = f"{IMPORTS}{run['id']}/"
    problem(client.post(f"{there}store/", {}), 409, says="not checked yet", kind="/problems/not-ready")
    client.patch(f"{there}mapping/", target_of(world))
    client.post(f"{there}check/")
    problem(client.post(f"{there}check/"), 409, says="being worked on", kind="/problems/not-ready")
    work_off()
    (wrong,) = client.get(there).json()["report"]["errors"]
    assert (wrong["row"], wrong["column"]) == (2, "UB L")
    problem(client.post(f"{there}store/", {}), 409, says="errors are left", kind="/problems/not-ready")
    assert not Piece.objects.exists()


def test_columns_and_header_can_be_chosen_otherwise() -> None:
    make_world()
    client = client_of()
    run = upload(client).json()
    there = f"{IMPORTS}{run['id']}/"
    columns = run["mapping"]["columns"]
    columns[2] = {"role": "carton"}
    changed = client.patch(f"{there}mapping/", {"columns": columns, "unit": "cm", "day_first": False}).json()
    assert (changed["mapping"]["columns"][2], changed["mapping"]["unit"]) == (
        {"role": "carton", "unit": ""},
        "cm",
    )
    assert changed["mapping"]["day_first"] is False
    again = client.put(f"{there}header/", {"header_row": 2}).json()
    assert again["mapping"]["header_row"] == 2
    for sent, status, says in (
        ({"columns": columns[:2]}, 422, "Send one for each"),
        ({"columns": [{"role": "waist"}, *columns[1:]]}, 422, "'waist' is no meaning of a column"),
        ({"unit": "m"}, 400, "m"),
        ({"header_row": 9}, 400, "There is no 'header_row' here"),
    ):
        problem(client.patch(f"{there}mapping/", sent), status, says=says)
    problem(
        client.put(f"{there}header/", {"header_row": 90}),
        422,
        says="cannot be in row 90",
        kind="/problems/mapping-incomplete",
    )


@pytest.mark.parametrize("form", ["csv", "json", "xlsx"])
def test_a_whole_export_has_no_columns_to_choose(form: str) -> None:
    owner, export = make_user(Role.OWNER), io.BytesIO()
    write_export(form, export, at=NOW, said=lambda _table: None)
    run = runs.upload_file(kind=runs.WHOLE, name="all", content=export, by=owner, at=NOW)
    client, there = client_of(user=owner), f"{IMPORTS}{run.pk}/"
    for answer in (
        client.patch(f"{there}mapping/", {"unit": "cm"}),
        client.put(f"{there}header/", {"header_row": 1}),
    ):
        problem(answer, 422, says="there are no columns to choose", kind="/problems/no-columns")
    assert client.get(there).json()["mapping"] is None


def test_what_is_no_table_is_refused_and_not_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    client = client_of()
    for content, says in (
        (b"", "empty"),
        (b"\x00\x01\x02\xff" * 50, "neither a CSV"),
        (b"PK\x03\x04", "damaged"),
    ):
        body = problem(upload(client, content), 422, says=says, kind="/problems/file-not-readable")
        assert body["errors"][0]["pointer"] == "/file"
    problem(client.post(IMPORTS, {"kind": "pieces"}, format="multipart"), 400, says="No file")
    problem(upload(client, kind="whole"), 400, says="whole")
    problem(client.post(IMPORTS, {"kind": "pieces"}), 415, says="application/json")
    monkeypatch.setattr("inventory.api.imports.MOST_BYTES", 10)
    problem(upload(client), 413, says=files.LIMITS_IN_WORDS)
    assert not ImportRun.objects.exists()


def test_a_spec_is_the_owners_to_bring_in_and_to_look_at() -> None:
    content = b"Point,Tolerance,size 22\nWA,6,330\n"
    problem(upload(client_of(), content, kind="spec"), 403, says="As inspector you may not set up")
    owner = client_of(Role.OWNER)
    run = upload(owner, content, kind="spec").json()
    there = f"{IMPORTS}{run['id']}/"
    for answer in (
        client_of().get(there),
        client_of().patch(f"{there}mapping/", {}),
        client_of().put(f"{there}header/", {}),
        client_of().post(f"{there}check/"),
        client_of().post(f"{there}store/", {}),
    ):
        problem(answer, 403)
    columns = [*run["mapping"]["columns"][:2], {"role": "size:99"}]
    assert (
        owner.patch(f"{there}mapping/", {"columns": columns}).json()["mapping"]["columns"][2]["role"]
        == "size:99"
    )


def test_a_spec_sheet_asks_about_its_suspicious_figures() -> None:
    world, owner = make_world(), client_of(Role.OWNER)
    content = b"Point,Tolerance,size 22,size 24,size 26,size 28\nWA,6,304,329,345,379\nUB,8,380,405,430,455\n"
    there = f"{IMPORTS}{upload(owner, content, kind='spec').json()['id']}/"
    owner.patch(f"{there}mapping/", {"target": {"style": world.target.style}})
    owner.post(f"{there}check/")
    work_off()
    report = owner.get(there).json()["report"]
    (cell,) = report["suspicious"]
    assert (cell["row"], cell["column"], cell["typed"]) == (2, "WA, size 26", "345")
    assert "Are two figures swapped, is it 354 mm?" in cell["question"]
    assert report["counts"]["suspicious"] == 1
    problem(owner.post(f"{there}store/", {}), 422, says="looks like", kind="/problems/suspicions-open")
    assert owner.post(f"{there}store/", {"accept_suspicious": True}).status_code == 202
    work_off()
    assert owner.get(there).json()["state"] == "stored"


def test_a_style_settles_columns_that_two_points_could_be_unless_the_columns_are_sent_too() -> None:
    world, client = make_world(), client_of()
    make_style([PointRecipe("HW", MeasurePoint.objects.get(code="WA").name)])
    header = [f"half waist {label[-1]}" if label.startswith("WA ") else label for label in HEADER]
    run = upload(client, csv_of([row("a1")], header=header)).json()
    at = header.index("half waist L")
    assert run["mapping"]["columns"][at]["role"] == ""
    there = f"{IMPORTS}{run['id']}/mapping/"
    both = {**target_of(world), "columns": run["mapping"]["columns"]}
    assert client.patch(there, both).json()["mapping"]["columns"][at]["role"] == ""
    assert client.patch(there, target_of(world)).json()["mapping"]["columns"][at]["role"] == "point:WA:L"


def test_a_viewer_brings_in_nothing_and_sees_no_files() -> None:
    run = upload(client_of()).json()
    client = client_of(Role.VIEWER)
    problem(upload(client), 403, says="As viewer you may not import files")
    problem(client.get(IMPORTS), 403)
    problem(client.get(f"{IMPORTS}{run['id']}/"), 403)


def test_a_stranger_is_asked_to_sign_in() -> None:
    assert is_asked_to_sign_in(stranger().get(IMPORTS))
    assert is_asked_to_sign_in(upload(stranger()))
    for step in ("check", "store"):
        assert is_asked_to_sign_in(stranger().post(f"{IMPORTS}1/{step}/"))


def test_an_import_that_is_not_there_is_named() -> None:
    problem(client_of().get(f"{IMPORTS}99/"), 404, says="no import 99")


def test_the_list_costs_the_same_whatever_it_holds(django_assert_num_queries: DjangoAssertNumQueries) -> None:
    client = client_of()
    for number in range(3):
        upload(client, csv_of([row(f"a{number}")]))
        with django_assert_num_queries(3):
            client.get(IMPORTS)


def test_names_that_are_not_sure_are_answered_when_storing() -> None:
    world, client = make_world(), client_of(Role.INSPECTOR)
    kern = called("anna.k", "Anna", "Kern")
    header = [*HEADER, "Measured by"]
    run = upload(client, csv_of([[*row("a1"), "Anna"]], header=header)).json()
    there = f"{IMPORTS}{run['id']}/"
    client.patch(f"{there}mapping/", target_of(world))
    client.post(f"{there}check/")
    work_off()
    people = client.get(there).json()["report"]["people"]
    assert people == [{"name": "Anna", "is_user": "", "could_be": ["anna.k"]}]
    refused = client.post(f"{there}store/", {"accept_suspicious": True})
    problem(refused, 422, says="Who measured is not sure: Anna", kind="/problems/people-open")
    assert client.post(f"{there}store/", {"who": {"Anna": "anna.k"}}).status_code == 202
    work_off()
    assert Piece.objects.get().inspections.get().opened_by == kern
