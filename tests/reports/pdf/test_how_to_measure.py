"""The sheet on how to measure, of every family, on both papers: signatures stand under what is signed."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from inventory.catalogue import FAMILIES, core_points, points_of
from inventory.models.people import Role
from inventory.services.styles import start_style
from reports.models import Document
from reports.pdf import documents, render
from reports.services.documents import request_document
from tests.factories import NOW, make_user

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("family", FAMILIES)
def test_the_signatures_have_a_point_above_them_on_their_page(family: str, paper: str) -> None:
    owner = make_user(Role.OWNER)
    for chosen in (points_of(family), core_points(family)):
        style = start_style(
            code=f"elm{len(chosen)}",
            name="Elm",
            family=family,
            point_codes=[point.code for point in chosen],
            by=owner,
            at=NOW,
        )
        document = request_document(
            kind=Document.Kind.HOW_TO_MEASURE, subject=style, paper=paper, by=owner, at=NOW
        )
        pages = [
            " ".join(page.extract_text().split())
            for page in PdfReader(io.BytesIO(documents.make(document).content)).pages
        ]
        (signed,) = [page for page in pages if "For the maker: name, date, signature" in page]
        last = style.points.order_by("position").last()
        assert last is not None
        assert last.name in signed, signed


def test_wherever_the_page_ends_the_last_row_comes_along_with_the_signatures() -> None:
    css = (documents.STYLESHEETS / "sheets.css").read_text(encoding="utf-8")
    for count in range(8, 13):  # with 10 rows of three lines the signatures would stand alone on page 2
        rows = "".join(f"<tr><td>row {number}.<br>and<br>more</td></tr>" for number in range(count))
        html = (
            f"<table><thead><tr><th>Point</th></tr></thead><tbody>{rows}</tbody></table>"
            '<div class="sign sign-of-rows"><div>signature</div></div>'
        )
        content = render.render([html], stylesheet=f"@page {{ size: A5 }}{css}").content
        pages = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
        (signed,) = [page for page in pages if "signature" in page]
        assert f"row {count - 1}." in signed, count
