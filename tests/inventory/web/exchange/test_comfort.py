"""What an import remembers and says by itself: choices, the truth after Back, what kind of file it is."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest

from inventory.models import ImportRun, Piece
from inventory.models.people import Role
from inventory.services.importing import runs
from inventory.services.importing.mapping import TableMapping
from tests.factories import NOW, make_maker, make_style, make_user
from tests.inventory.services.exporting.whole_shop import a_shop_with_some_of_everything, written
from tests.inventory.services.importing.files_of_pieces import (
    HEADER,
    World,
    bring_in,
    check,
    csv_of,
    make_world,
    row,
)
from tests.inventory.services.importing.files_of_pieces import upload as upload_as_chosen
from tests.inventory.services.importing.test_namesakes import called
from tests.inventory.web.exchange.test_imports import (
    boxes_of,
    choose,
    signed_in,
    text_of,
    upload,
    work_off,
)

pytestmark = pytest.mark.django_db


def mapping_of(run: ImportRun) -> TableMapping:
    return TableMapping.from_json(run.mapping)


def latest() -> ImportRun:
    return ImportRun.objects.latest("pk")


def test_a_corrected_file_keeps_what_was_chosen_for_the_first_and_says_so() -> None:
    world = make_world()
    client = signed_in(world.inspector)
    wrong = row("a1")
    wrong[3] = "soon"
    upload(client, csv_of([wrong], header=["Piece", "Size", "Hue", *HEADER[3:]]), name="first.csv")
    choose(client, world, role_2="colour", unit="mm", unit_3="cm")
    work_off()
    first = latest()
    page = client.get(
        upload(client, csv_of([row("a1")], header=["Piece", "Size", "Hue", *HEADER[3:]]))["Location"]
    )
    assert "Choices taken over from first.csv" in text_of(page)
    assert "to be said anew" not in text_of(page)
    second = latest()
    assert second.pk != first.pk
    assert mapping_of(second) == mapping_of(first)
    assert boxes_of(page)["order"] == "PO-7"


def test_after_a_stored_file_the_next_is_another_delivery() -> None:
    world = make_world()
    bring_in(csv_of([row("a1")]), world)
    client = signed_in(world.inspector)
    page = client.get(upload(client, csv_of([row("b1")]))["Location"])
    target = mapping_of(latest()).target
    assert (target.maker, target.style) == (world.target.maker, world.target.style)
    assert (target.order, target.arrived_on) == ("", "")
    assert "its order and arrival are to be said anew" in text_of(page)


def test_other_columns_another_person_and_another_program_begin_anew() -> None:
    world = make_world()
    content = csv_of([row("a1")])
    check(upload_as_chosen(content, world), world)
    upload(signed_in(world.inspector), csv_of([[*row("a1"), "x"]], header=[*HEADER, "Note"]))
    assert mapping_of(latest()).target.maker == ""
    upload(signed_in(make_user(Role.INSPECTOR)), content)
    assert mapping_of(latest()).target.maker == ""
    run = runs.upload_file(kind="pieces", name="a.csv", content=content, by=world.inspector, at=NOW)
    assert mapping_of(run).target.maker == ""


def test_choices_follow_the_columns_to_another_header_row_and_what_stands_above_goes_first() -> None:
    world = make_world()
    other = make_style(code="OTHER")
    check(upload_as_chosen(csv_of([row("a1")]), world), world)
    upload(signed_in(world.inspector), b"Style: OTHER\n\n" + csv_of([row("a1")]))
    mapping = mapping_of(latest())
    assert mapping.header_row == 3
    assert (mapping.target.style, mapping.target.maker) == (other.code, world.target.maker)


def test_a_file_nobody_chose_anything_for_hands_nothing_on() -> None:
    world = make_world()
    client = signed_in(world.inspector)
    upload(client, csv_of([row("a1")]))
    page = client.get(upload(client, csv_of([row("a2")]))["Location"])
    assert "taken over" not in text_of(page)


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_a_filled_in_template_needs_no_choice_at_all(form: str) -> None:
    world = make_world()
    make_maker(code="ELSE")  # two makers: which one sewed these the person fills in
    client = signed_in(world.inspector)
    content = client.get(f"/exchange/templates/{world.spec.style.code}/pieces.{form}").content
    filled = _filled_csv(content, world) if form == "csv" else _filled_workbook(content, world)
    page = client.get(upload(client, filled, name=f"t.{form}")["Location"])
    client.post(page.request["PATH_INFO"], boxes_of(page))
    work_off()
    run = latest()
    assert run.report["errors"] == []
    assert run.report["counts"]["pieces"] == 1
    assert mapping_of(run).target.style == world.target.style
    assert mapping_of(run).target.arrived_on == "2026-03-01"


def _values(world: World) -> dict[str, str]:
    return {"Maker": world.target.maker, "Order reference": "PO-7", "Arrived on": "2026-03-01"}


LINE = ["a1", "24", "black", "", "", "", "", *(str(mm) for mm in row()[3:])]


def _filled_csv(content: bytes, world: World) -> bytes:
    lines = content.decode("utf-8-sig").splitlines()
    said = _values(world)
    lines = [f"{name},{said[name]}" if (name := line.split(",")[0]) in said else line for line in lines]
    return "\n".join([*lines, ",".join(LINE)]).encode()


def _filled_workbook(content: bytes, world: World) -> bytes:
    from openpyxl import load_workbook  # noqa: PLC0415  # only here

    book = load_workbook(io.BytesIO(content))
    sheet = book.active
    assert sheet is not None
    said = _values(world)
    for place in range(1, 5):
        name = sheet.cell(row=place, column=1).value
        if name in said:
            sheet.cell(row=place, column=2).value = said[str(name)]
    sheet.append(LINE)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_the_template_names_the_maker_where_there_is_only_one() -> None:
    world = make_world()
    content = (
        signed_in(world.inspector).get(f"/exchange/templates/{world.spec.style.code}/pieces.csv").content
    )
    assert f"Maker,{world.target.maker}\r\n".encode() in content


def test_without_a_style_it_is_said_that_no_slip_was_looked_for() -> None:
    world = make_world()
    nameless = replace(world, target=replace(world.target, style=""))
    run = check(upload_as_chosen(csv_of([row("a1")]), nameless), nameless)
    assert "1 of 1 pieces have no style or no spec yet" in " ".join(run.report["remarks"])
    run = check(upload_as_chosen(csv_of([row("a1")]), world), world)
    assert "no style" not in " ".join(run.report["remarks"])


def test_without_an_arrival_nothing_is_said_to_be_measured_before_it() -> None:
    world = make_world()
    lines = [[*row(f"a{number}"), "2026-02-01"] for number in range(3)]
    content = csv_of(lines, header=[*HEADER, "Measured on"])
    unsaid = replace(world, target=replace(world.target, arrived_on=""))
    run = check(upload_as_chosen(content, unsaid), unsaid)
    assert "measured before they arrived" not in " ".join(run.report["remarks"])
    assert "No arrival date" in " ".join(sentence for _, _, sentence in run.report["errors"])
    run = check(upload_as_chosen(content, world), world)
    assert "3 pieces were measured before they arrived, first in row 2." in run.report["remarks"]


def test_the_pages_of_an_import_are_never_shown_from_memory() -> None:
    world = make_world()
    run = check(upload_as_chosen(csv_of([row("a1")]), world), world)
    client = signed_in(world.inspector)
    for page in ("", "columns/"):
        assert "no-store" in client.get(f"/exchange/imports/{run.pk}/{page}")["Cache-Control"]
    assert "no-store" in client.post(f"/exchange/imports/{run.pk}/store/")["Cache-Control"]


def test_storing_again_from_a_page_left_open_tells_where_the_import_stands() -> None:
    world = make_world()
    run = bring_in(csv_of([row("a1")]), world)
    client = signed_in(world.inspector)
    page = client.post(f"/exchange/imports/{run.pk}/store/", {"accept_suspicious": "on"}, follow=True)
    assert "Nothing is stored yet" not in text_of(page)
    assert "stored. Nothing was stored again" in text_of(page)
    assert Piece.objects.count() == 1


@pytest.mark.parametrize("form", ["csv", "xlsx", "json"])
def test_a_whole_export_among_the_pieces_is_told_with_the_way_to_restore_it(form: str) -> None:
    boss = a_shop_with_some_of_everything()
    content = written(form, boss)
    page = upload(signed_in(boss), content, name=f"all.{form}")
    assert "This is a whole export of this program" in text_of(page)
    assert 'href="/exchange/bring-in/whole/"' in page.content.decode()
    page = upload(signed_in(make_user(Role.INSPECTOR)), content, name=f"all.{form}")
    assert 'href="/exchange/bring-in/whole/"' not in page.content.decode()
    assert "Restoring is done by the owner" in text_of(page)


def test_names_are_shown_with_whom_they_mean_and_asked_about_where_that_is_not_sure() -> None:
    world = make_world()
    kern = called("anna.k", "Anna", "Kern")
    client = signed_in(world.inspector)
    header = [*HEADER, "Measured by"]
    for turn, known in enumerate(("", "anna.k")):  # the second file knows what was said of the first
        rows = [[*row(f"{turn}a"), "Anna"], [*row(f"{turn}b"), "Anna Kern"], [*row(f"{turn}c"), "Zoe"]]
        upload(client, csv_of(rows, header=header))
        choose(client, world)
        work_off()
        address = f"/exchange/imports/{latest().pk}/"
        page = client.get(address)
        said = text_of(page)
        assert "Anna Kern anna.k (Anna Kern, inspector)" in said
        assert "Zoe nobody here; the name is kept as a note" in said
        assert page.context["form"]["person_0"].value() == known
        refused = text_of(client.post(f"{address}store/"))
        assert "Who is Anna?" in refused
        assert "Choose who it is" in refused
        assert client.post(f"{address}store/", {"person_0": "anna.k"}).status_code == 302
        work_off()
    assert set(Piece.objects.values_list("inspections__opened_by", flat=True)) == {
        kern.pk,
        world.inspector.pk,
    }


def test_rows_that_may_be_stored_twice_wait_for_a_word() -> None:
    world = make_world()
    nameless = [row("", off={("WA", "L"): 1}), row("", "22")]
    bring_in(csv_of(nameless), world)
    client = signed_in(world.inspector)
    upload(client, csv_of([*nameless, row("b1")]))
    choose(client, world)
    work_off()
    said = text_of(client.get(f"/exchange/imports/{latest().pk}/"))
    assert "2 rows look like pieces that count already, listed below." in said
    assert "Suspicious cells and rows" in said
    assert "2 rows look like" in text_of(client.post(f"/exchange/imports/{latest().pk}/store/"))


def test_what_an_export_holds_is_called_so() -> None:
    boss = make_user(Role.OWNER)
    content = written("json", boss)
    upload(signed_in(boss), content, name="all.json", kind="whole")
    work_off()
    said = text_of(signed_in(boss).get(f"/exchange/imports/{latest().pk}/"))
    assert "What the export holds" in said
    assert "The first rows as understood" not in said
