"""From HTML to PDF bytes: the only module that talks to WeasyPrint.

The renderer fetches nothing: images, drawings and fonts come inside the HTML as data addresses, so a
document cannot reach a file of ours or the network (the fetcher refuses every other scheme). One font is
shipped with the project and named first, and no time of day goes in, so the same HTML gives the same bytes
on every machine.

Long documents are made sheet by sheet: each sheet is laid out on its own, with "page x of y" counted within
it (sheets are parted and stapled to their pieces); a stretch of sheets is written at once and the stretches
are joined. Time stays proportional to the number of sheets, and memory stays that of one stretch.
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
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

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
    parts: list[bytes] = []
    pages = done = 0
    waiting = iter(sheets)
    with _few_collections():
        while stretch := list(islice(waiting, STRETCH)):
            laid_out = []
            for html in stretch:
                laid_out.append(_lay_out(html, stylesheet))
                done += 1
                if on_progress is not None:
                    on_progress(done)
            all_pages = [page for document in laid_out for page in document.pages]
            pages += len(all_pages)
            parts.append(_written(laid_out[0].copy(all_pages)))
            # The boxes of a sheet hold one another in circles; left to the thresholds they would pile up.
            laid_out.clear()
            all_pages.clear()
            _images().clear()  # each sheet has a code of its own in it
            if len(stretch) == STRETCH:
                gc.collect()
    if not parts:
        raise ValueError("Nothing to print: give at least one sheet.")
    return Rendered(parts[0] if len(parts) == 1 else _joined(parts), pages)


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
