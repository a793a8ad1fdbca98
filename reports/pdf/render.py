"""From HTML to PDF bytes: the only module that talks to WeasyPrint.

The renderer fetches nothing: images, drawings and fonts come inside the HTML as data addresses, so a
document cannot reach a file of ours or the network (the fetcher refuses every other scheme). One font is
shipped with the project and named first, and no time of day goes in, so the same HTML gives the same bytes
on every machine.

Long documents are made sheet by sheet: each sheet is laid out on its own, with "page x of y" counted within
it (sheets are parted and stapled to their pieces); a stretch of sheets is written at once and the stretches
are joined. What is longer than a stretch is drawn by processes of its own (`reports.pdf.apart`): time stays
proportional to the number of sheets, and memory stays that of a few stretches.
"""

from __future__ import annotations

import atexit
import base64
import gc
import io
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from itertools import chain, count, islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reports.pdf import apart

if TYPE_CHECKING:
    from weasyprint import CSS, Document
    from weasyprint.text.fonts import FontConfiguration

FONT_FAMILY = "Measuring Sheet"
FONTS = Path(__file__).parent / "fonts"
STRETCH = 25  # sheets held in memory at once; 25 dense pages take about 300 MB

Progress = Callable[[int], None]


@dataclass(frozen=True, slots=True)
class Rendered:
    """A finished PDF and how many pages it has."""

    content: bytes
    pages: int


def render(sheets: Iterable[str], *, stylesheet: str, on_progress: Progress | None = None) -> Rendered:
    """Lay out HTML documents one after the other and join them into one PDF.

    `stylesheet` is the CSS they share. `on_progress` hears how many sheets are done. Refuses an empty list.
    """
    waiting = iter(sheets)
    first = list(islice(waiting, STRETCH + 1))
    if not first:
        raise ValueError("Nothing to print: give at least one sheet.")
    if len(first) > STRETCH:
        parts = apart.parts_of(
            chain(first, waiting), stylesheet=stylesheet, stretch=STRETCH, on_progress=on_progress
        )
        return Rendered(_joined(part.content for part in parts), sum(part.pages for part in parts))
    done = count(1)
    return stretch_of(
        first,
        stylesheet=stylesheet,
        on_sheet=None if on_progress is None else lambda _pages: on_progress(next(done)),
    )


def stretch_of(
    sheets: Iterable[str], *, stylesheet: str, on_sheet: Callable[[int], None] | None = None
) -> Rendered:
    """Lay out a stretch of sheets, in this process, and write them as one PDF.

    `on_sheet` hears the pages of each sheet as it is laid out. All are in memory until they are written.
    """
    laid_out: list[Document] = []
    with _few_collections():
        for html in sheets:
            laid_out.append(_lay_out(html, stylesheet))
            if on_sheet is not None:
                on_sheet(len(laid_out[-1].pages))
        all_pages = [page for document in laid_out for page in document.pages]
        return Rendered(_written(laid_out[0].copy(all_pages)), len(all_pages))


def as_data_address(content: bytes, media_type: str) -> str:
    """Bytes as an address that the renderer may read."""
    return f"data:{media_type};base64,{base64.b64encode(content).decode()}"


def _lay_out(html: str, stylesheet: str) -> Document:
    from weasyprint import HTML  # noqa: PLC0415  # a third of a second at start, and only for documents

    css, fonts = _shared(stylesheet)
    document: Document = HTML(string=html, url_fetcher=_fetcher(), base_url="about:blank").render(
        font_config=fonts, stylesheets=[css], cache=_images()
    )
    return document


def _written(document: Document) -> bytes:
    target = io.BytesIO()
    document.write_pdf(target, pdf_identifier=b"measuring room", optimize_images=False)
    return target.getvalue()


def _joined(parts: Iterable[bytes]) -> bytes:
    from pypdf import PdfWriter  # noqa: PLC0415  # only for long documents

    target = io.BytesIO()
    with PdfWriter() as writer:
        for part in parts:
            writer.append(io.BytesIO(part))
        writer.compress_identical_objects()  # each stretch brought its own copy of the fonts
        writer.write(target)
    return target.getvalue()


@cache
def _shared(stylesheet: str) -> tuple[CSS, FontConfiguration]:
    """The parsed stylesheet with the shipped font: parsed once a process, as the font alone is half a MB."""
    from weasyprint import CSS  # noqa: PLC0415
    from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415

    fonts = FontConfiguration()
    # WeasyPrint frees the fonts when this goes; at the very end of the interpreter it no longer can.
    atexit.register(_shared.cache_clear)
    return CSS(string=font_faces() + stylesheet, font_config=fonts, url_fetcher=_fetcher()), fonts


def font_faces() -> str:
    """The shipped font as CSS, which every document's stylesheet begins with."""
    return "".join(
        f'@font-face{{font-family:"{FONT_FAMILY}";font-weight:{weight};src:url({_font_address(name)})}}'
        for name, weight in (("Inter-Regular.otf", 400), ("Inter-Bold.otf", 700))
    )


def _font_address(name: str) -> str:
    return as_data_address((FONTS / name).read_bytes(), "font/otf")


@cache
def _fetcher() -> Any:  # Any: WeasyPrint is untyped here
    from weasyprint.urls import URLFetcher  # noqa: PLC0415

    return URLFetcher(allowed_protocols={"data"}, allow_redirects=False)


@cache
def _images() -> dict[str, Any]:  # Any: WeasyPrint's own cache of decoded images
    return {}


@contextmanager
def _few_collections() -> Iterator[None]:
    """Let the garbage collector look less often: layout makes millions of short-lived boxes."""
    before = gc.get_threshold()
    gc.set_threshold(200_000, 50, 1000)
    try:
        yield
    finally:
        gc.set_threshold(*before)
        _images().clear()
