"""The renderer reaches nothing outside the HTML it is given."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from pypdf import PdfReader

from reports.pdf import render


def test_a_local_file_cannot_get_into_a_document(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("the till is under the stairs")
    html = f'<a rel="attachment" href="{secret.as_uri()}">x</a><img src="{secret.as_uri()}">'
    content = render.render([html], stylesheet="").content
    assert b"/EmbeddedFile" not in content
    assert "stairs" not in PdfReader(io.BytesIO(content)).pages[0].extract_text()


def test_long_documents_are_joined_in_order() -> None:
    made = render.render((f"<p>sheet {n}</p>" for n in range(30)), stylesheet="")
    texts = [page.extract_text().strip() for page in PdfReader(io.BytesIO(made.content)).pages]
    assert made.pages == 30
    assert texts == [f"sheet {n}" for n in range(30)]


def test_progress_is_told_sheet_by_sheet() -> None:
    heard: list[int] = []
    render.render(["<p>a</p>", "<p>b</p>"], stylesheet="", on_progress=heard.append)
    assert heard == [1, 2]


def test_nothing_to_print_is_said() -> None:
    with pytest.raises(ValueError, match="at least one sheet"):
        render.render([], stylesheet="")


def test_the_shipped_font_is_the_one_used() -> None:
    html = f"<p style='font-family:\"{render.FONT_FAMILY}\"'>half waist</p>"
    page = PdfReader(io.BytesIO(render.render([html], stylesheet="").content)).pages[0]
    fonts = page["/Resources"]["/Font"]  # type: ignore[index]  # a PDF dictionary
    assert [str(font.get_object()["/BaseFont"]).split("+")[1] for font in fonts.values()] == [
        "Measuring-Sheet"
    ]
