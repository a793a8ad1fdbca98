"""Big files: refused before they are unpacked, read in part for a page, whole in the background."""

from __future__ import annotations

import io
import zipfile

import pytest
from openpyxl import Workbook

from inventory.models import Piece
from inventory.services.importing import files, workbooks
from inventory.services.importing.files import read_table
from inventory.services.importing.kept_file import table_of
from inventory.services.importing.refusals import FileNotReadable, MappingIncomplete
from tests.inventory.services.importing.files_of_pieces import bring_in, csv_of, make_world, row, upload

ROWS = [["a", "b"], *([str(number), "1"] for number in range(20))]


def book_of(rows: list[list[str]]) -> bytes:
    book = Workbook()
    assert book.active is not None
    for line in rows:
        book.active.append(line)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def packed(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        for name, part in parts.items():
            archive.writestr(f"xl/{name.replace('__', '/')}.xml", part)
    return out.getvalue()


@pytest.fixture
def all_is_big(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(files, "BIG_BYTES", 10)
    monkeypatch.setattr(files, "HEAD_ROWS", 5)


@pytest.mark.parametrize("content", [book_of(ROWS), csv_of(ROWS[1:], header=ROWS[0])], ids=["xlsx", "csv"])
def test_of_a_big_file_a_page_reads_the_beginning_only(content: bytes, all_is_big: None) -> None:
    head = read_table(content, head_of_big=True)
    assert (head.rows, head.is_head) == (ROWS[:5], True)
    whole = read_table(content)
    assert (whole.rows, whole.is_head) == (ROWS, False)


def test_a_file_that_is_not_big_is_read_whole_for_a_page() -> None:
    for content in (book_of(ROWS), csv_of(ROWS[1:], header=ROWS[0])):
        table = read_table(content, head_of_big=True)
        assert (table.rows, table.is_head) == (ROWS, False)


@pytest.mark.parametrize(
    ("name", "most", "says"),
    [
        ("sharedStrings", "MOST_TEXTS_BYTES", "3 MB of them texts"),
        ("worksheets__sheet1", "MOST_UNPACKED_BYTES", "Unpacked, the workbook has 3 MB"),
    ],
)
def test_what_unpacks_to_too_much_is_refused_before_it_is_unpacked(
    name: str, most: str, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    content = packed(**{name: b" " * (3 * 1024 * 1024 + 9)})
    assert len(content) < 10_000
    monkeypatch.setattr(workbooks, most, 2 * 1024 * 1024)
    monkeypatch.setattr(workbooks, "_stretches", None)  # a call of it would be an error of another kind
    with pytest.raises(FileNotReadable, match=says):
        read_table(content)


def test_the_limits_hold_what_the_words_promise() -> None:
    """Of 50,000 pieces of 27 columns a sheet takes some 50 MB; what is refused is four times that."""
    line = [f"{number}.5" for number in range(27)]
    per_cell = workbooks.unpacked_bytes(book_of([line] * 400)) / (27 * 400)
    assert per_cell * 50_000 * 27 < workbooks.MOST_UNPACKED_BYTES / 2


def test_cells_are_counted_before_they_are_read(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(workbooks, "MOST_CELLS", 41)
    monkeypatch.setattr(workbooks, "_AT_ONCE", 64)  # many stretches
    monkeypatch.setattr(workbooks, "_read_sheets", None)
    with pytest.raises(FileNotReadable, match="more than 41 cells"):
        read_table(book_of(ROWS))


def test_a_formula_without_a_value_is_found_wherever_a_stretch_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    content = book_of([*ROWS, ["=1+1", "=2+2"]])
    for size in (16, 50, 64, 97, 4096):
        monkeypatch.setattr(workbooks, "_AT_ONCE", size)
        with pytest.raises(FileNotReadable, match="2 formula cells"):
            read_table(content)


@pytest.mark.django_db
def test_a_big_file_is_stored_whole(all_is_big: None) -> None:
    bring_in(csv_of([row(f"a{number}") for number in range(12)]), make_world())
    assert Piece.objects.count() == 12


@pytest.mark.django_db
def test_cells_right_of_the_columns_that_were_shown_are_not_lost_without_a_word(all_is_big: None) -> None:
    rows = [row(f"a{number}") for number in range(12)]
    rows[9].append("500")
    run = upload(csv_of(rows), make_world())
    assert len(table_of(run, head_of_big=True).rows) == 5
    with pytest.raises(MappingIncomplete, match="Row 11 has cells right of the 9 columns"):
        table_of(run)
