"""The renderer reaches nothing outside the HTML it is given."""

from __future__ import annotations

import io
import os
import threading
from pathlib import Path

import pytest
from pypdf import PdfReader

from reports.pdf import apart, render


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


def test_progress_of_a_long_document_is_told_in_the_thread_that_asked() -> None:
    heard: list[tuple[int, int]] = []
    sheets = [f"<p>sheet {n}</p>" for n in range(2 * render.STRETCH + 3)]
    made = render.render(
        sheets, stylesheet="", on_progress=lambda done: heard.append((done, threading.get_ident()))
    )
    assert heard == [(done, threading.get_ident()) for done in range(1, len(sheets) + 1)]
    assert [page.extract_text().strip() for page in PdfReader(io.BytesIO(made.content)).pages] == [
        f"sheet {n}" for n in range(len(sheets))
    ]


def test_a_process_that_ends_early_fails_the_document_with_its_last_words(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    stub = tmp_path / "python"
    stub.write_text("#!/bin/sh\necho no memory left >&2\nexit 7\n")
    stub.chmod(0o755)
    monkeypatch.setattr("sys.executable", str(stub))
    with pytest.raises(apart.DrawingEnded, match=r"(?s)code 7 .*no memory left"):
        render.render(["<p>a</p>"] * (render.STRETCH + 1), stylesheet="")


def test_nobody_goes_on_drawing_when_the_one_who_asked_gives_up() -> None:
    class GivenUp(Exception):
        pass

    def give_up(_done: int) -> None:
        raise GivenUp

    with pytest.raises(GivenUp):
        render.render(["<p>a</p>" * 20] * (4 * render.STRETCH), stylesheet="", on_progress=give_up)
    mine = Path(f"/proc/{os.getpid()}/task").glob("*/children")
    children = [number for task in mine for number in task.read_text().split()]
    assert not [child for child in children if b"reports.pdf.apart" in _command_of(child)]


def _command_of(process: str) -> bytes:
    command = Path(f"/proc/{process}/cmdline")
    return command.read_bytes() if command.exists() else b""


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
