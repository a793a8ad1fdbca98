"""The screens of import and export in a real Chromium: axe finds nothing, and they follow the work."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest
from django.core.management import call_command

from inventory import tasks
from inventory.models import ImportRun, Job, Piece, User
from inventory.models.people import Role
from inventory.services.pieces import PieceCount, number_pieces
from tests.browser.seeing import faults_in_every_look
from tests.factories import NOW, make_batch, make_user
from tests.inventory.services.exporting.whole_shop import a_shop_with_some_of_everything, written
from tests.inventory.services.importing.files_of_pieces import HEADER, World, csv_of, make_world, row

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SignIn = Callable[[User], "Page"]


@pytest.fixture
def world(page: Page) -> World:  # `page` first: it starts the live server, whose flush comes last
    return make_world()


def work_off() -> None:
    for job in Job.objects.open():
        tasks.execute(job.pk)


def test_a_file_is_brought_in_by_a_person_and_no_page_has_a_fault(sign_in: SignIn, world: World) -> None:
    page = sign_in(world.inspector)
    page.goto("/exchange/")
    found = faults_in_every_look(page)
    page.get_by_role("link", name="Measured pieces").click()
    found += faults_in_every_look(page)
    bad = row("a2", off={("WA", "L"): 355})
    page.get_by_label("File", exact=False).set_input_files(
        {
            "name": "pieces.csv",
            "mimeType": "text/csv",
            "buffer": csv_of([row("a1"), bad, ["Total"], row("a3")]),
        }
    )
    page.get_by_role("button", name="Upload").click()
    found += faults_in_every_look(page)
    page.get_by_label("Maker (optional)").select_option(world.target.maker)
    page.get_by_label("Style (optional)").select_option(world.target.style)
    page.get_by_label("Arrived on").fill("2026-03-01")
    page.get_by_label("Order reference").fill("PO-1")
    page.get_by_role("button", name="Check the file").click()
    page.get_by_role("heading", name="Being checked").wait_for()
    found += faults_in_every_look(page)
    work_off()
    page.get_by_role("heading", name="Ready to be stored").wait_for()  # the page looks by itself
    found += faults_in_every_look(page)
    page.get_by_role("button", name="Store all of it").click()
    assert "1 cell looks like a slip" in page.inner_text("main")
    page.get_by_label("Store all of them as typed").check()
    page.get_by_role("button", name="Store all of it").click()
    page.get_by_role("heading", name="Being stored").wait_for()
    work_off()
    page.get_by_role("heading", name="Stored", exact=True).wait_for()
    found += faults_in_every_look(page)
    assert Piece.objects.count() == 3
    assert found == []


def test_errors_and_failures_have_no_fault_either(sign_in: SignIn, world: World) -> None:
    page = sign_in(world.inspector)
    page.goto("/exchange/bring-in/pieces/")
    page.get_by_label("File", exact=False).set_input_files(
        {
            "name": "pieces.csv",
            "mimeType": "text/csv",
            "buffer": csv_of([row("a1"), ["a1", "99", "", "soon"]]),
        }
    )
    page.get_by_role("button", name="Upload").click()
    page.get_by_role("button", name="Check the file").click()
    work_off()
    page.get_by_role("heading", name="Errors to be corrected").wait_for()
    found = faults_in_every_look(page)
    run = ImportRun.objects.get()
    assert run.job is not None
    Job.objects.filter(pk=run.job.pk).update(state="failed", error="The disk is full.")
    ImportRun.objects.update(state="failed")
    page.reload()
    assert "The disk is full." in page.inner_text("main")
    assert found + faults_in_every_look(page) == []


def test_the_owner_takes_everything_out(sign_in: SignIn, world: World) -> None:
    owner = make_user(Role.OWNER)
    page = sign_in(owner)
    page.goto("/exchange/bring-in/whole/")
    found = faults_in_every_look(page)
    page.goto("/exchange/bring-in/spec/")
    found += faults_in_every_look(page)
    page.goto("/exchange/")
    page.get_by_role("button", name="One document (JSON)").click()
    work_off()
    page.get_by_role("heading", name="It is written").wait_for()
    found += faults_in_every_look(page)
    with page.expect_download() as download:
        page.get_by_role("link", name="Take the file").click()
    assert download.value.suggested_filename.endswith(".json")
    assert found == []


def test_a_person_adds_a_file_to_a_batch_and_is_told_of_heaps(sign_in: SignIn, world: World) -> None:
    batch = make_batch(world.spec)
    (waiting,) = number_pieces(batch=batch, counts=[PieceCount("24", 1)], by=world.inspector, at=NOW)
    page = sign_in(world.inspector)
    page.goto("/exchange/bring-in/pieces/")
    lines = [[*row(waiting.label), "Cleo"], *([*row(f"a{number}"), "Cleo"] for number in range(20))]
    file = csv_of(lines, header=[*HEADER, "Measured by"])
    page.get_by_label("File", exact=False).set_input_files(
        {"name": "pieces.csv", "mimeType": "text/csv", "buffer": file}
    )
    page.get_by_role("button", name="Upload").click()
    page.get_by_label("Where the pieces go").select_option(batch.label)
    page.get_by_role("button", name="Check the file").click()
    page.get_by_role("heading", name="Being checked").wait_for()
    work_off()
    page.get_by_role("heading", name="Ready to be stored").wait_for()
    shown = page.inner_text("main")
    assert "1 numbered before" in shown
    assert "read by Cleo" in shown
    found = faults_in_every_look(page)
    page.get_by_role("button", name="Store all of it").click()
    page.get_by_role("heading", name="Being stored").wait_for()
    work_off()
    page.get_by_role("heading", name="Stored", exact=True).wait_for()
    assert found + faults_in_every_look(page) == []
    assert (batch.pieces.count(), Piece.objects.count()) == (21, 21)


def test_an_owner_restores_an_export_and_a_viewer_looks_on(sign_in: SignIn) -> None:
    content = written("csv", a_shop_with_some_of_everything())
    call_command("flush", verbosity=0, interactive=False)
    page = sign_in(make_user(Role.OWNER, username="boss"))
    page.goto("/exchange/bring-in/whole/")
    page.get_by_label("Export", exact=False).set_input_files(
        {"name": "export.zip", "mimeType": "application/zip", "buffer": content}
    )
    page.get_by_role("button", name="Upload").click()
    work_off()
    page.get_by_role("heading", name="Ready to be stored").wait_for()
    found = faults_in_every_look(page)
    page.get_by_role("button", name="Store all of it").click()
    page.get_by_role("heading", name="Being stored").wait_for()
    work_off()
    page.get_by_role("heading", name="Stored", exact=True).wait_for()
    assert "5 current verdicts were worked out again from the readings and are the same" in page.inner_text(
        "main"
    )
    found += faults_in_every_look(page)
    page.context.clear_cookies()
    sign_in(make_user(Role.VIEWER))
    page.goto("/exchange/")
    assert "Files are brought in by inspectors and the owner" in page.inner_text("main")
    assert found + faults_in_every_look(page) == []
