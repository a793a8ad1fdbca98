"""The screens of an import, step by step, for each role."""

from __future__ import annotations

import html
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from inventory import tasks
from inventory.models import Batch, ImportRun, Job, Piece, PieceVerdict, Spec, User
from inventory.models.people import Role
from tests.factories import make_style, make_user
from tests.inventory.services.importing.files_of_pieces import World, bring_in, csv_of, make_world, row

pytestmark = pytest.mark.django_db


def signed_in(user: User) -> Client:
    client = Client()
    client.force_login(user)
    return client


def work_off() -> None:
    for job in Job.objects.open():
        tasks.execute(job.pk)


def upload(
    client: Client, content: bytes, *, name: str = "pieces.csv", kind: str = "pieces"
) -> Any:  # Any: the test client's answer
    file = SimpleUploadedFile(name, content)
    return client.post(f"/exchange/bring-in/{kind}/", {"file": file})


def boxes_of(page: Any) -> dict[str, str]:
    """What the form on the page would send as it stands."""
    form = page.context["form"]
    sent = {name: form[name].value() for name in form.fields}
    return {name: str(value) for name, value in sent.items() if value not in (None, False, "")}


def choose(client: Client, world: World, **changes: str) -> Any:
    run = ImportRun.objects.latest("pk")
    page = client.get(f"/exchange/imports/{run.pk}/columns/")
    where = {
        "maker": world.target.maker,
        "style": world.target.style,
        "order": "PO-7",
        "arrived_on": "2026-03-01",
    }
    return client.post(f"/exchange/imports/{run.pk}/columns/", boxes_of(page) | where | changes)


def text_of(page: Any) -> str:
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode())))


def test_a_file_goes_from_upload_to_its_batch() -> None:
    world = make_world()
    client = signed_in(world.inspector)
    assert upload(client, csv_of([row("a1"), row("a2", off={("WA", "L"): 40})])).status_code == 302
    assert choose(client, world).status_code == 302
    run = ImportRun.objects.get()
    address = f"/exchange/imports/{run.pk}/"
    assert "waiting for its turn" in text_of(client.get(address))
    assert client.get(f"{address}progress/").json() == {
        "over": False,
        "percent": 0,
        "words": "waiting for its turn",
    }
    work_off()
    preview = text_of(client.get(address))
    assert "Ready to be stored" in preview
    assert "Pieces 2" in preview
    assert client.post(f"{address}store/", {"accept_suspicious": "on"}).status_code == 302
    work_off()
    done = client.get(address)
    assert f'href="/batches/{Batch.objects.get().label}/"' in done.content.decode()
    assert Piece.objects.count() == 2
    assert sorted(PieceVerdict.objects.values_list("shelf", flat=True)) == ["in", "out"]


def test_errors_are_told_by_row_and_nothing_is_stored() -> None:
    world = make_world()
    client = signed_in(world.inspector)
    bad = row("a2")
    bad[3] = "soon"
    upload(client, csv_of([row("a1"), bad, ["a3", "99", *row("a3")[2:]]]))
    choose(client, world)
    work_off()
    run = ImportRun.objects.get()
    shown = text_of(client.get(f"/exchange/imports/{run.pk}/"))
    assert "Errors to be corrected" in shown
    assert '3 UB L "soon" was read as' in shown
    assert "4 Size Size '99' is not in spec" in shown
    refused = client.post(f"/exchange/imports/{run.pk}/store/", {"accept_suspicious": "on"})
    assert "2 errors are left" in text_of(refused)
    assert Piece.objects.count() == 0


def test_suspicious_cells_wait_for_a_word() -> None:
    world = make_world()
    client = signed_in(world.inspector)
    upload(client, csv_of([row("a1", off={("WA", "L"): 355})]))
    choose(client, world)
    work_off()
    run = ImportRun.objects.get()
    shown = text_of(client.get(f"/exchange/imports/{run.pk}/"))
    assert "Is this the full girth" in shown
    refused = client.post(f"/exchange/imports/{run.pk}/store/")
    assert "1 cell looks like a slip" in text_of(refused)
    client.post(f"/exchange/imports/{run.pk}/store/", {"accept_suspicious": "on"})
    work_off()
    assert Piece.objects.count() == 1


def test_the_same_file_is_recognised_and_not_stored_twice() -> None:
    world = make_world()
    content = csv_of([row("a1")])
    first = bring_in(content, world)
    client = signed_in(world.inspector)
    page = client.get(upload(client, content, name="again.csv")["Location"])
    assert "This very file was stored on" in text_of(page)
    assert f'href="/exchange/imports/{first.pk}/"' in page.content.decode()
    choose(client, world)
    work_off()
    second = ImportRun.objects.latest("pk")
    refused = client.post(f"/exchange/imports/{second.pk}/store/")
    assert "This very file was stored on" in text_of(refused)
    assert Piece.objects.count() == 1


def test_a_file_that_is_no_table_is_refused_on_the_page() -> None:
    client = signed_in(make_user(Role.INSPECTOR))
    page = upload(client, b"\x00\x01\x02\x03" * 99)
    assert page.status_code == 200
    assert "neither a CSV file nor an XLSX workbook" in text_of(page)
    assert ImportRun.objects.count() == 0


def test_the_header_can_be_read_again_from_another_row() -> None:
    world = make_world()
    client = signed_in(world.inspector)
    upload(client, b"left over,by somebody\n" + csv_of([row("a1")]))
    run = ImportRun.objects.get()
    assert run.mapping["header_row"] == 2
    page = choose(client, world, header_row="1", again="1")
    assert page.status_code == 302
    run.refresh_from_db()
    assert run.mapping["header_row"] == 1
    assert {column["role"] for column in run.mapping["columns"]} <= {"", "measured_by"}


def test_missing_choices_are_said_on_the_page() -> None:
    world = make_world()
    client = signed_in(world.inspector)
    upload(client, csv_of([row("a1")]))
    choose(client, world, maker="", order="")
    work_off()
    shown = text_of(client.get(f"/exchange/imports/{ImportRun.objects.get().pk}/"))
    assert "No maker is named" in shown
    assert "1 rows name no order" in shown


def test_a_spec_sheet_becomes_a_draft() -> None:
    style = make_style()
    client = signed_in(make_user(Role.OWNER))
    sheet = (
        b"Point,Tolerance minus,Tolerance plus,Left-right limit,size 22,size 24\n"
        b"WA,6,6,6,330,355\nUB,8,8,,380,405\nCF,5,5,3,300,305\n"
    )
    upload(client, sheet, name="sheet.csv", kind="spec")
    run = ImportRun.objects.get()
    page = client.get(f"/exchange/imports/{run.pk}/columns/")
    client.post(
        f"/exchange/imports/{run.pk}/columns/", boxes_of(page) | {"style": style.code, "base_size": "22"}
    )
    work_off()
    assert "Ready to be stored" in text_of(client.get(f"/exchange/imports/{run.pk}/"))
    client.post(f"/exchange/imports/{run.pk}/store/")
    work_off()
    spec = Spec.objects.get()
    assert spec.state == Spec.State.DRAFT
    assert spec.sizes.count() == 2
    waist = spec.spec_points.get(point__code="WA")
    assert list(waist.cells.values_list("nominal_nm", "tolerance_minus_nm")) == [
        (330_000_000, 6_000_000),
        (355_000_000, 6_000_000),
    ]


@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize("kind", ["pieces", "spec"])
def test_a_template_is_understood_by_itself(kind: str, form: str) -> None:
    world = make_world()
    client = signed_in(make_user(Role.OWNER))
    got = client.get(f"/exchange/templates/{world.spec.style.code}/{kind}.{form}")
    assert got.status_code == 200
    assert upload(client, got.content, name=f"t.{form}", kind=kind).status_code == 302
    columns = ImportRun.objects.get().mapping["columns"]
    assert [column for column in columns if not column["role"]] == (
        [] if kind == "pieces" else [{"role": "", "unit": ""}]
    )


@pytest.mark.parametrize(
    ("role", "kind", "status"),
    [
        (Role.VIEWER, "pieces", 403),
        (Role.INSPECTOR, "pieces", 200),
        (Role.INSPECTOR, "spec", 403),
        (Role.OWNER, "spec", 200),
        (Role.INSPECTOR, "whole", 403),
        (Role.OWNER, "whole", 200),
    ],
)
def test_each_role_finds_the_doors_it_may_open(role: str, kind: str, status: int) -> None:
    assert signed_in(make_user(role)).get(f"/exchange/bring-in/{kind}/").status_code == status


def test_a_stranger_is_asked_to_sign_in_and_a_viewer_sees_no_import() -> None:
    run = bring_in(csv_of([row("a1")]), make_world())
    for address in ("/exchange/", f"/exchange/imports/{run.pk}/", "/exchange/bring-in/pieces/"):
        answer = Client().get(address)
        assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/sign-in/")
    viewer = signed_in(make_user(Role.VIEWER))
    assert viewer.get("/exchange/").status_code == 200
    for page in ("", "columns/", "progress/"):
        assert viewer.get(f"/exchange/imports/{run.pk}/{page}").status_code == 403
    assert viewer.post(f"/exchange/imports/{run.pk}/store/").status_code == 403
