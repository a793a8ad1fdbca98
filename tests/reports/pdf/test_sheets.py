"""What a sheet must say to stand in a dispute, and that no figure runs into another."""

from __future__ import annotations

import itertools
import re
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from inventory.models import Batch, Inspection, Piece, Shop
from inventory.services.dispositions import decide_disposition
from inventory.services.judging import judge_inspection
from reports.models import Document
from reports.pdf import documents
from tests.factories import (
    LACED,
    NOW,
    PointRecipe,
    make_batch,
    make_inspection,
    make_piece,
    make_reading,
    make_spec,
    make_user,
    measure_all,
    the_shop,
)

pytestmark = pytest.mark.django_db

SIXTEENTH_NM = 25_400_000 // 16


def html_of(kind: Document.Kind, *, batch: Batch | None = None, piece: Piece | None = None) -> str:
    """The first sheet, with its spaces evened."""
    document = Document(kind=kind, piece=piece, batch=batch, paper=Shop.Paper.A4)
    return " ".join(next(documents.html_of(document, the_shop())).split())


def sheet_of(piece: Piece) -> str:
    return html_of(Document.Kind.PIECE_SHEET, piece=piece)


def judged(sitting: Inspection) -> Piece:
    judge_inspection(inspection=sitting, by=sitting.opened_by, at=NOW)
    return sitting.piece


def in_inches(denominator: int | None = 16) -> None:
    shop = the_shop()
    shop.display_unit, shop.fraction_denominator = "in", denominator
    shop.save()


def read_to_the_end() -> Piece:
    """A waist 5.5 mm over, of 6 allowed, on both sides: read four times, and still too close to call."""
    sitting = make_inspection(make_piece(make_batch(make_spec())))
    off = {("WA", "L"): 5.5, ("WA", "R"): 5.5}
    measure_all(sitting, off)
    for side, repeat in itertools.product("LR", (2, 3, 4)):
        make_reading(sitting, "WA", side, mm=355 + 5.5, repeat=repeat)
    return judged(sitting)


def test_the_sheet_tells_how_often_each_side_was_read_and_every_single_reading() -> None:
    sheet = sheet_of(read_to_the_end())
    assert '<td class="num">4 + 4</td>' in sheet
    assert '<td class="num">1 + 1</td>' in sheet
    assert sheet.count("<b>360.5</b>") == 2 * 4
    assert sheet.count('class="single"') == 2 * 4


def test_the_sheet_says_where_the_rule_fixed_in_advance_decided() -> None:
    sheet = sheet_of(read_to_the_end())
    assert sheet.count("decided by the rule fixed in advance") == 1
    assert "after 4 readings too close to call" in sheet


def test_one_reading_a_side_needs_neither_list_nor_final_rule() -> None:
    sitting = make_inspection(make_piece(make_batch(make_spec())))
    measure_all(sitting)
    sheet = sheet_of(judged(sitting))
    assert "Single readings" not in sheet
    assert "fixed in advance" not in sheet


def test_the_limit_of_left_against_right_stands_beside_their_difference() -> None:
    sitting = make_inspection(make_piece(make_batch(make_spec())))
    measure_all(sitting, {("CF", "L"): 2, ("CF", "R"): -2})
    sheet = sheet_of(judged(sitting))
    assert "+4.0<br><small>limit 3</small>" in sheet
    assert "<small>left \N{MINUS SIGN} right</small>" in sheet


@pytest.mark.parametrize("denominator", [8, 16, None])
def test_an_uncertainty_in_inches_is_never_printed_as_none(denominator: int | None) -> None:
    in_inches(denominator)
    points = tuple(
        PointRecipe(code, code, same_person_sd_nm=sd, two_people_sd_nm=sd)
        for code, sd in (("AA", 100_000), ("BB", 700_000))
    )
    sitting = make_inspection(make_piece(make_batch(make_spec(points=points))))
    measure_all(sitting)
    sheet = sheet_of(judged(sitting))
    assert '<td class="num">0.01</td>' in sheet  # 2 x 0.1 mm is 0.0079 in
    assert '<td class="num">0.06</td>' in sheet  # 2 x 0.7 mm is 0.0551 in


def test_only_out_of_tolerance_can_be_proved_against_the_maker() -> None:
    batch = make_batch(make_spec())
    good, bad = make_inspection(make_piece(batch)), make_inspection(make_piece(batch))
    measure_all(good)
    measure_all(bad, {("WA", "L"): 20.0})
    assert "against the maker: <b>nothing beyond doubt</b>" in sheet_of(judged(good))
    assert "against the maker: <b>out of tolerance</b>" in sheet_of(judged(bad))


def test_units_are_written_out() -> None:
    in_inches()
    sitting = make_inspection(make_piece(make_batch(make_spec())), unit="in")
    measure_all(sitting)
    sheet = sheet_of(judged(sitting))
    assert "read in inches" in sheet
    assert "All lengths in inches" in sheet


def test_a_correction_names_who_corrected_and_when() -> None:
    sitting = make_inspection(make_piece(make_batch(make_spec())))
    measure_all(sitting)
    wrong = sitting.readings.get(point__code="WA", side="L")
    again = make_user(username="bea")
    make_reading(sitting, "WA", "L", mm=356, corrects=wrong, reason="tape slipped", taken_by=again)
    assert "355 became 356: tape slipped (bea, 2 Mar 2026, 09:00)" in sheet_of(judged(sitting))


def relabelled_batch() -> Batch:
    """One piece judged as size 22 and re-labelled to 24."""
    batch = make_batch(make_spec())
    sitting = make_inspection(make_piece(batch, size_label="22"))
    measure_all(sitting, {(recipe.code, side): float(recipe.step_mm) for recipe in LACED for side in "LR"})
    piece = judged(sitting)
    owner = make_user("owner")
    decide_disposition(piece=piece, decision="relabel", new_size_label="24", by=owner, at=NOW)
    return batch


def test_a_relabelled_piece_says_from_which_size_and_by_which_it_was_judged() -> None:
    piece = relabelled_batch().pieces.get()
    sheet = sheet_of(piece)
    assert "<b>Re-labelled</b> from 22 to 24 on 2 Mar 2026" in sheet
    assert "<b>Judged as size 22</b>" in sheet
    assert "<dt>Size judged by</dt><dd>22</dd>" in sheet
    assert "<b>Out as size 22:</b> fits size 24" in sheet
    assert "Wrong size suspected" not in sheet
    again = make_inspection(piece)
    measure_all(again)
    judged(again)
    sheet = sheet_of(piece)
    assert "<b>Re-labelled</b> from 22 to 24 on 2 Mar 2026" in sheet
    assert "<b>Judged as size" not in sheet
    assert "<dt>Size judged by</dt><dd>24</dd>" in sheet


def test_the_summary_tells_sizes_decisions_and_what_the_marks_mean() -> None:
    summary = html_of(Document.Kind.BATCH_SHEETS, batch=relabelled_batch())
    assert "re-labelled from 22 to 24" in summary
    assert "judged as size 22, to be measured again" in summary
    assert "<th>Decision</th>" in summary
    legend = summary.split('class="legend"')[1].split("</p>")[0]
    for word in ("in tolerance", "too close to call", "out of tolerance", "millimetres", "left minus right"):
        assert word in legend


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("denominator", [8, 16, None])
def test_no_figure_of_a_row_runs_into_the_next(paper: str, denominator: int | None, tmp_path: Path) -> None:
    in_inches(denominator)
    points = tuple(
        PointRecipe(f"P{n:02d}", f"half girth over the hip number {n}", nominal_mm=380 + n) for n in range(14)
    )
    batch = make_batch(make_spec(points=points))
    sitting = make_inspection(make_piece(batch), unit="in")
    for recipe in points:
        for side, steps in (("L", 15), ("R", 13)):
            make_reading(sitting, recipe.code, side, typed="x", length_nm=(16 * 16 + steps) * SIXTEENTH_NM)
    piece = judged(sitting)
    document = Document(kind=Document.Kind.PIECE_SHEET, piece=piece, paper=paper)
    assert overlapping(documents.make(document).content, tmp_path) == []


def overlapping(content: bytes, folder: Path) -> list[tuple[str, str]]:
    """Words of a document that lie on one another, by the places poppler finds them at."""
    file = folder / "sheet.pdf"
    file.write_bytes(content)
    tool = shutil.which("pdftotext")
    assert tool is not None
    told = subprocess.run([tool, "-bbox", str(file), "-"], check=True, capture_output=True, text=True)
    found = []
    for page in told.stdout.split("<page ")[1:]:
        words = [
            (*map(float, places), word)
            for *places, word in re.findall(
                r'<word xMin="(.+?)" yMin="(.+?)" xMax="(.+?)" yMax="(.+?)">(.*?)</word>', page
            )
        ]
        assert words
        found += [
            (one[4], other[4])
            for one, other in itertools.combinations(words, 2)
            if one[0] < other[2] and other[0] < one[2] and _same_line(one, other)
        ]
    return found


def _same_line(one: Sequence[Any], other: Sequence[Any]) -> bool:  # Any: four places and a word
    """Whether two words share more than half their height; the boxes of neighbouring lines may touch."""
    shared = min(one[3], other[3]) - max(one[1], other[1])
    return bool(shared * 2 > min(one[3] - one[1], other[3] - other[1]))
