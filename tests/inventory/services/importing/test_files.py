"""A file's bytes as rows of cells: encodings, separators, headers, dates where fractions were typed."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Sequence

import pytest
from openpyxl import Workbook

from inventory.calc.length import Unit
from inventory.models import Piece, PieceVerdict, Reading
from inventory.services.importing.files import MOST_COLUMNS, MOST_ROWS, read_table
from inventory.services.importing.mapping import TableMapping
from inventory.services.importing.refusals import FileNotReadable
from tests.inventory.services.importing.files_of_pieces import (
    HEADER,
    bring_in,
    check,
    csv_of,
    make_world,
    pieces_in_order,
    row,
    upload,
)

ENCODINGS = {
    "utf-8": "UTF-8",
    "utf-8-sig": "UTF-8",
    "cp1252": "Windows Western",
    "latin-1": "Windows Western",
    "utf-16": "UTF-16",
    "utf-16-le": "UTF-16",
    "utf-16-be": "UTF-16",
}
DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs"}


def workbook(rows: Sequence[Sequence[object]], *, merged: Sequence[str] = ()) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for line in rows:
        sheet.append(list(line))
    for area in merged:
        sheet.merge_cells(area)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("delimiter", DELIMITERS)
@pytest.mark.parametrize("encoding", ENCODINGS)
def test_every_encoding_and_separator_gives_the_same_cells(encoding: str, delimiter: str) -> None:
    rows = [HEADER, ["Größe ½", "24", "écru", "40,55", "40,5", "35,5", "35,4", "30,5", "30,5"]]
    text = csv_of(rows[1:], header=rows[0], delimiter=delimiter).decode()
    table = read_table(text.encode(encoding))
    assert table.rows == rows
    assert table.said == f"CSV in {ENCODINGS[encoding]}, separated by {DELIMITERS[delimiter]}"


@pytest.mark.django_db
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("delimiter", [";", "\t", ","])
def test_decimal_commas_and_accents_arrive_whole_in_the_database(encoding: str, delimiter: str) -> None:
    world = make_world()
    line = row("Nº 7", off={("WA", "L"): 0.5})
    figures = [f"{float(str(mm)) / 10:g}".replace(".", ",") for mm in line[3:]]
    content = csv_of([["Nº 7", "24", "Écru", *figures]], delimiter=delimiter).decode().encode(encoding)
    bring_in(content, world, unit=Unit.CM)
    (piece,) = pieces_in_order()
    assert (piece.maker_reference, piece.colour) == ("Nº 7", "Écru")
    waist = Reading.objects.get(point__code="WA", side="L")
    assert (waist.typed, waist.unit, waist.length_nm) == ("35,55", "cm", 355_500_000)


@pytest.mark.django_db
def test_units_typed_into_the_cells_win_over_the_files_own() -> None:
    world = make_world()
    figures = ["40,5 cm", "405 mm", "405", "15 15/16 in", '12"', "305"]
    bring_in(csv_of([["a", "24", "", *figures]]), world, unit=Unit.MM)
    kept = Reading.objects.order_by("pk").values_list("typed", "unit", "length_nm")
    assert list(kept) == [
        ("40,5 cm", "cm", 405_000_000), ("405 mm", "mm", 405_000_000), ("405", "mm", 405_000_000),
        ("15 15/16 in", "in", 404_812_500), ('12"', "in", 304_800_000), ("305", "mm", 305_000_000),
    ]  # fmt: skip


@pytest.mark.django_db
def test_a_unit_in_the_head_of_a_column_is_that_columns_unit() -> None:
    world = make_world()
    header = [*HEADER[:3], "UB L (in)", "UB R (in)", *HEADER[5:]]
    run = upload(csv_of([["a", "24", "", "16", "16", "355", "355", "305", "305"]], header=header), world)
    columns = TableMapping.from_json(run.mapping).columns
    assert [column.unit for column in columns] == ["", "", "", "in", "in", "", "", "", ""]
    assert TableMapping.from_json(run.mapping).unit == Unit.MM


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("cell", "said"),
    [
        (dt.datetime(2024, 8, 3), "3 August 2024 (3/8?)"),  # noqa: DTZ001  # a sheet's dates have no zone
        (dt.datetime(2024, 2, 1), "1 February 2024 (1/2?)"),  # noqa: DTZ001  # as above
        (dt.datetime(2024, 5, 20), "20 May 2024"),  # noqa: DTZ001  # as above
    ],
)
def test_a_date_where_a_length_stands_in_a_workbook_is_never_taken(cell: object, said: str) -> None:
    world = make_world()
    line = row("a1")
    line[4] = cell
    run = check(upload(workbook([HEADER, row("a0"), line]), world, name="x.xlsx"), world)
    ((at, column, sentence),) = run.report["errors"]
    assert (at, column) == (3, "UB R")
    assert sentence.startswith(f"{said} stands here, a date and no length")
    assert Piece.objects.count() == 0


@pytest.mark.django_db
@pytest.mark.parametrize("typed", ["03.08.2024", "3-Aug", "2024-08-03", "Aug 03", "8/3/2024", "3. Aug. 24"])
def test_a_date_where_a_length_stands_in_csv_is_never_taken(typed: str) -> None:
    world = make_world()
    line = row("a1")
    line[4] = typed
    run = check(upload(csv_of([row("a0"), line]), world), world)
    ((at, column, sentence),) = run.report["errors"]
    assert (at, column) == (3, "UB R")
    assert "date" in sentence.lower() or "3/8" in sentence, sentence


@pytest.mark.django_db
def test_a_merged_header_over_left_and_right_and_blank_rows_are_understood() -> None:
    world = make_world()
    head = [
        "Piece",
        "Size",
        "Colour",
        "Half underbust",
        None,
        "Half waist",
        None,
        "Centre front length",
        None,
    ]
    sides = [None, None, None, *["left", "right"] * 3]
    content = workbook(
        [["Deliveries of spring"], [], head, sides, row("a1"), [], [], row("a2"), [None] * 9, row("a3")],
        merged=["D3:E3", "F3:G3", "H3:I3"],
    )
    run = bring_in(content, world, name="x.xlsx")
    assert (run.mapping["header_row"], run.mapping["header_rows"]) == (3, 2)
    assert [piece.maker_reference for piece in pieces_in_order()] == ["a1", "a2", "a3"]
    assert PieceVerdict.objects.filter(shelf="in").count() == 3
    assert run.report["left_out"] == []


@pytest.mark.django_db
def test_rows_are_numbered_as_the_spreadsheet_numbers_them() -> None:
    world = make_world()
    bad = row("a2")
    bad[3] = "soon"
    for content, name in (
        (workbook([[], HEADER, [], row("a1"), [], bad]), "x.xlsx"),
        (b"\r\n" + csv_of([[], row("a1"), [], bad]), "x.csv"),
    ):
        run = check(upload(content, world, name=name), world)
        assert [(at, column) for at, column, _ in run.report["errors"]] == [(6, "UB L")]


@pytest.mark.django_db
def test_fifty_thousand_rows_are_read_looked_through_and_stored() -> None:
    world = make_world()
    line = ",".join(str(cell) for cell in row("@"))
    content = csv_of([]) + "".join(line.replace("@", f"a{n}") + "\r\n" for n in range(50_000)).encode()
    run = bring_in(content, world)
    assert run.report["stored"]["pieces"] == Piece.objects.count() == 50_000
    assert run.report["stored"]["readings"] == Reading.objects.count() == 300_000
    assert PieceVerdict.objects.filter(shelf="in", is_current=True).count() == 50_000


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"a,b\n" * (MOST_ROWS + 1), "The table is too large"),
        (b"," * MOST_COLUMNS + b"\n", "The table is too large: at least 1 lines, a line of 251 columns"),
        (b"\xd0\xcf\x11\xe0" + b"\0" * 900, "workbook of the old kind"),
        (b"  \r\n", "The file is empty"),
        (b"PK\x03\x04rubbish", "The workbook is damaged"),
        (b'a,b\n"' + b"x" * 200_000, "is not a line of a CSV file"),
    ],
)
def test_what_is_beyond_the_limits_is_refused_with_a_sentence(content: bytes, sentence: str) -> None:
    with pytest.raises(FileNotReadable, match=sentence):
        read_table(content)
