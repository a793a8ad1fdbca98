"""Which HTML each kind of document is made of, and how many sheets it has."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from django.template.loader import get_template

from inventory.catalogue import drawing
from inventory.models import Batch, Piece, Shop, Style
from inventory.models.shop import LengthUnit
from inventory.queries import batches
from inventory.queries.batch_verdicts import batch_picture
from inventory.queries.plans import plans_of
from inventory.queries.sampling.paper import sample_lines
from inventory.queries.verdict_risks import risks_of, worst_of
from reports.models import Document
from reports.pdf import labels, render
from reports.pdf.batch_bands import bands, lies_across
from reports.pdf.pictures import photo_preview, piece_code
from reports.pdf.point_lines import any_rounded, point_lines
from reports.queries.relabelled import relabellings_of
from reports.queries.sheets import PieceSheet, sheet_of, sheets_of

if TYPE_CHECKING:
    from inventory.models import MeasurePoint

STYLESHEETS = Path(__file__).parent / "css"
UNIT_WORDS = {code: word.lower() for code, word in LengthUnit.choices}
SIZE_OF_PAPER = {Shop.Paper.A4: "A4", Shop.Paper.LETTER: "letter"}

Context = dict[str, Any]  # Any: what a template may be given


def make(document: Document, *, on_progress: Callable[[int], None] | None = None) -> render.Rendered:
    """Render a document; the same rows give the same bytes."""
    shop = Shop.objects.current()
    return render.render(html_of(document, shop), stylesheet=stylesheet_of(document), on_progress=on_progress)


def html_of(document: Document, shop: Shop) -> Iterator[str]:
    """The sheets of a document as HTML, one after the other."""
    match document.kind:
        case Document.Kind.PIECE_SHEET:
            assert document.piece is not None
            yield _piece_sheet(sheet_of(_piece(document.piece)), shop)
        case Document.Kind.BATCH_SHEETS:
            batch = _batch(document)
            yield _batch_summary(batch, shop)
            for sheet in sheets_of(batch):
                yield _piece_sheet(sheet, shop)
        case Document.Kind.LABELS:
            yield from _labels(document, shop)
        case Document.Kind.WORKSHEETS:
            yield from _worksheets(_batch(document), shop)
        case _:
            assert document.style is not None
            yield _how_to_measure(document.style, shop)


def stylesheet_of(document: Document) -> str:
    """The shared CSS of the document, with its paper size."""
    return _stylesheet(document.kind, Shop.Paper(document.paper))


def sheet_count(document: Document) -> int:
    """How many sheets there will be, for the progress bar."""
    if document.kind in {Document.Kind.PIECE_SHEET, Document.Kind.HOW_TO_MEASURE}:
        return 1
    pieces = _batch(document).pieces.count()
    if document.kind == Document.Kind.LABELS:
        return labels.sheet_count(pieces, first=document.options.get("first", 1), paper=document.paper)
    return pieces + (1 if document.kind == Document.Kind.BATCH_SHEETS else 0)


def _piece_sheet(sheet: PieceSheet, shop: Shop) -> str:
    batch = sheet.piece.batch
    lines = point_lines(sheet.rows)
    return _html(
        "piece_sheet",
        shop,
        sheet=sheet,
        lines=lines,
        by_final_rule=any(line.by_final_rule for line in lines),
        rounded=any_rounded(sheet.rows, display=shop.as_display()),
        piece=sheet.piece,
        batch=batch,
        verdict=sheet.verdict,
        read_in=UNIT_WORDS.get(sheet.unit, ""),
        rules=None if sheet.verdict is None else sheet.verdict.basis.document,
        worst_risk=None if sheet.verdict is None else worst_of(risks_of(sheet.verdict)),
        drawing=_drawing(batch.style.family, frozenset(row.code for row in sheet.rows)),
        code=piece_code(sheet.piece.label),
        photos=[photo_preview(photo) for defect in sheet.defects for photo in defect.photos.all()],
    )


def _batch_summary(batch: Batch, shop: Shop) -> str:
    picture = batch_picture(batch)
    return _html(
        "batch_summary",
        shop,
        batch=batch,
        picture=picture,
        bands=bands(picture, relabellings_of(line.pk for line in picture.lines)),
        across=lies_across(picture),
        counts=batches.counts_of([batch.pk])[batch.pk],
        sample=sample_lines(batch),
    )


def _labels(document: Document, shop: Shop) -> Iterator[str]:
    batch = _batch(document)
    first = document.options.get("first", 1)
    for sheet in labels.sheets(_in_order(batch), first=first, paper=document.paper):
        yield _html("labels", shop, batch=batch, rows=sheet)


def _worksheets(batch: Batch, shop: Shop) -> Iterator[str]:
    points = list(plans_of(batch).points.values())
    art = _drawing(batch.style.family, frozenset(point.code for point in points))
    for piece in _in_order(batch):
        yield _html(
            "worksheet",
            shop,
            batch=batch,
            piece=piece,
            points=points,
            drawing=art,
            code=piece_code(piece.label),
        )


def _how_to_measure(style: Style, shop: Shop) -> str:
    points: list[MeasurePoint] = list(style.points.filter(is_active=True))
    art = _drawing(style.family, frozenset(point.code for point in points))
    return _html("how_to_measure", shop, style=style, points=points, drawing=art)


def _html(name: str, shop: Shop, **context: Any) -> str:  # Any: what a template may be given
    display = shop.as_display()
    given: Context = {
        "shop": shop,
        "display": display,
        "unit_words": UNIT_WORDS[display.unit.value],
        **context,
    }
    return get_template(f"reports/pdf/{name}.html").render(given)


@cache
def _drawing(family: str, codes: frozenset[str]) -> str:
    """The drawing as a data address: WeasyPrint decodes it once for all sheets of a style."""
    known = drawing.drawn_codes(family) & codes
    art = drawing.render(family, active=None, codes=known)
    art = re.sub(r'font-family="[^"]*"', f'font-family="{render.FONT_FAMILY}"', art)  # the shipped font
    return render.as_data_address(art.encode(), "image/svg+xml")


@cache
def _stylesheet(kind: str, paper: Shop.Paper) -> str:
    for_labels = kind == Document.Kind.LABELS
    css = "".join(
        (STYLESHEETS / name).read_text()
        for name in ("paper.css", "labels.css" if for_labels else "sheets.css")
    )
    size = SIZE_OF_PAPER[paper]
    return f"@page {{ size: {size} }}\n@page across {{ size: {size} landscape }}\n{css}" + (
        f"table.labels td {{ height: {labels.LAYOUTS[paper].height_mm}mm }}\n" if for_labels else ""
    )


def _in_order(batch: Batch) -> Iterable[Piece]:
    return batch.pieces.order_by("number").iterator(chunk_size=500)


def _batch(document: Document) -> Batch:
    assert document.batch_id is not None
    return Batch.objects.select_related("style", "spec__style", "delivery__maker").get(pk=document.batch_id)


def _piece(piece: Piece) -> Piece:
    return Piece.objects.select_related("batch__style", "batch__spec__style", "batch__delivery__maker").get(
        pk=piece.pk
    )
