"""WeasyPrint alone: `python -m deploy.benchmarks.bare_sheets FOLDER STRETCH` makes PDFs of HTML files.

Nothing of the project is imported. The style sheet is read once, its fonts with it, and images are decoded
once, which is the quickest way to use the library; a stretch of sheets is written at once, as ours are. The
first sheet is made once before the clock starts, so that the library is loaded and the fonts are known.
"""

from __future__ import annotations

import gc
import io
import json
import resource
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


def main(folder: str, stretch: str) -> None:
    """Print seconds, pages and peak memory."""
    sheets = [path.read_text() for path in sorted(Path(folder).glob("*.html"))]
    css = (Path(folder) / "sheets.css").read_text()
    gc.set_threshold(200_000, 50, 1000)  # as ours: layout makes millions of short-lived boxes
    began = time.perf_counter()
    make = _maker(css, stretch=int(stretch))
    make(sheets[:1])
    first = time.perf_counter() - began
    began = time.perf_counter()
    pages = make(sheets)
    took = time.perf_counter() - began
    peak_mib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps({"seconds": took, "first": first, "pages": pages, "peak_mib": peak_mib}))


def _maker(css: str, *, stretch: int) -> Callable[[list[str]], int]:
    from weasyprint import CSS, HTML  # noqa: PLC0415  # loading it is part of the first sheet's time
    from weasyprint.text.fonts import FontConfiguration  # noqa: PLC0415  # as above

    fonts = FontConfiguration()
    shared = CSS(string=css, font_config=fonts)

    def make(sheets: list[str]) -> int:
        images: dict[str, object] = {}
        pages = 0
        for start in range(0, len(sheets), stretch):
            laid_out = [
                HTML(string=html).render(font_config=fonts, stylesheets=[shared], cache=images)
                for html in sheets[start : start + stretch]
            ]
            together = [page for document in laid_out for page in document.pages]
            target = io.BytesIO()
            laid_out[0].copy(together).write_pdf(target, optimize_images=False)
            pages += len(together)
        return pages

    return make


if __name__ == "__main__":
    main(*sys.argv[1:])
