"""What is printed: the HTML closely, the PDF by its pages and its text."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from inventory.models import Batch, Shop
from reports.models import Document
from reports.pdf import documents
from reports.services.documents import Subject, request_document
from tests.factories import NOW, make_piece, make_user

pytestmark = pytest.mark.django_db


def asked(kind: Document.Kind, subject: Subject, *, paper: str = "A4", first: int = 1) -> Document:
    return request_document(
        kind=kind.value, subject=subject, paper=paper, by=make_user(), at=NOW, options={"first": first}
    )


def html_of(document: Document) -> list[str]:
    return list(documents.html_of(document, Shop.objects.current()))


def text_of(document: Document) -> list[str]:
    content = documents.make(document).content
    return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]


def test_the_sheet_of_a_piece_says_what_was_measured_and_what_follows(measured_batch: Batch) -> None:
    piece = measured_batch.pieces.order_by("number")[1]
    [page] = text_of(asked(Document.Kind.PIECE_SHEET, piece))
    flat = " ".join(page.split())
    for said in (
        piece.label,
        measured_batch.label,
        measured_batch.delivery.maker.name,
        "revision 1",
        "out of tolerance",
        "367",  # the left half as read
        "349–361",  # its limits
        "+12",
        "shelf-guarded version 1",
        "the chance that this is wrong is",
        "by the readings of WA alone",
        "page 1 of 1",
        "signature",
        "On hold",
    ):
        assert said in flat, said


def test_a_piece_that_is_not_measured_says_so(measured_batch: Batch) -> None:
    piece = measured_batch.pieces.order_by("number")[2]
    assert "Not judged yet" in text_of(asked(Document.Kind.PIECE_SHEET, piece))[0]


def test_the_sheets_of_a_batch_begin_with_a_summary_and_count_pages_within_each_sheet(
    measured_batch: Batch,
) -> None:
    pages = text_of(asked(Document.Kind.BATCH_SHEETS, measured_batch))
    assert len(pages) == 4
    assert "Batch summary" in pages[0].capitalize()
    assert all("page 1 of 1" in page for page in pages)


def test_the_same_rows_give_the_same_bytes(measured_batch: Batch) -> None:
    document = asked(Document.Kind.BATCH_SHEETS, measured_batch)
    assert documents.make(document).content == documents.make(document).content


@pytest.mark.parametrize(("paper", "width_pt"), [("A4", 595), ("Letter", 612)])
def test_the_paper_is_the_one_asked_for(measured_batch: Batch, paper: str, width_pt: int) -> None:
    content = documents.make(asked(Document.Kind.LABELS, measured_batch, paper=paper)).content
    assert round(PdfReader(io.BytesIO(content)).pages[0].mediabox.width) == width_pt


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_full_sheet_of_labels_is_one_page(measured_batch: Batch, paper: str) -> None:
    for _ in range(30 - measured_batch.pieces.count()):
        make_piece(measured_batch, colour="a colour with a rather long name")
    document = asked(Document.Kind.LABELS, measured_batch, paper=paper)
    assert documents.make(document).pages == documents.sheet_count(document) == 2


def test_labels_begin_at_the_first_free_place(measured_batch: Batch) -> None:
    document = asked(Document.Kind.LABELS, measured_batch, first=23)
    assert documents.sheet_count(document) == len(html_of(document)) == 2


def test_a_worksheet_has_boxes_and_no_nominal_to_pull_the_tape(measured_batch: Batch) -> None:
    sheets = html_of(asked(Document.Kind.WORKSHEETS, measured_batch))
    assert len(sheets) == 3
    assert sheets[0].count('class="box"') == 3 * 3
    assert "355" not in sheets[0]


def test_the_how_to_measure_sheet_gives_every_point_its_words(measured_batch: Batch) -> None:
    [sheet] = html_of(asked(Document.Kind.HOW_TO_MEASURE, measured_batch.style))
    for point in measured_batch.style.points.all():
        assert point.name in sheet
        assert point.level in sheet


def test_gathering_a_batch_takes_the_same_number_of_statements_whatever_its_size(
    measured_batch: Batch, django_assert_max_num_queries: pytest.FixtureRequest
) -> None:
    document = asked(Document.Kind.BATCH_SHEETS, measured_batch)
    with django_assert_max_num_queries(20):  # type: ignore[operator]  # a fixture that is a function
        html_of(document)
