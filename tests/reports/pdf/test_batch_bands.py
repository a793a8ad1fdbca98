"""The map of a batch on paper holds as many points as fit beside each other."""

from __future__ import annotations

from inventory.queries.batch_verdicts import BatchPicture, PieceLine
from inventory.queries.verdict_cells import Cell
from reports.pdf.batch_bands import MOST_ACROSS, MOST_UPRIGHT, bands, lies_across


def picture_of(points: int) -> BatchPicture:
    codes = tuple(f"P{number}" for number in range(points))
    cells = tuple(Cell("in", "D", number, 1, 1) for number in range(points))
    line = PieceLine(
        pk=1,
        number=1,
        label="P000001",
        size_label="24",
        colour="",
        standing="hold",
        shelf="in",
        claim="in",
        size_suspected=False,
        fits_size="",
        judged_size="24",
        cells=cells,
    )
    return BatchPicture(codes=codes, lines=(line,), points=())


def test_few_points_stay_on_upright_paper() -> None:
    picture = picture_of(MOST_UPRIGHT)
    assert not lies_across(picture)
    assert len(bands(picture, {})) == 1


def test_many_points_lie_across_and_go_on_below_without_losing_one() -> None:
    picture = picture_of(2 * MOST_ACROSS + 1)
    made = bands(picture, {})
    assert lies_across(picture)
    assert [len(band.codes) for band in made] == [MOST_ACROSS, MOST_ACROSS, 1]
    assert tuple(code for band in made for code in band.codes) == picture.codes
    drawn = [cell for band in made for cell in band.lines[0].cells]
    assert [cell[0].deviation_nm for cell in drawn if cell is not None] == list(range(2 * MOST_ACROSS + 1))
    assert {cell[1] for cell in drawn if cell is not None} == {"L\N{MINUS SIGN}R"}


def test_a_batch_without_points_still_lists_its_pieces() -> None:
    [band] = bands(picture_of(0), {})
    assert [line.piece.label for line in band.lines] == ["P000001"]
