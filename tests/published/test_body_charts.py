"""Published body tables used as size charts.

They describe bodies, not garments, so they are only charts to try the arithmetic of sizes on. Each check
names its source. "From memory" means recalled by us, not read in the source; "second-hand" means read in
a public text that quotes the source.
"""

import numpy as np
import pytest

from inventory.calc.length import Display, Unit, parse, show_exact
from inventory.calc.plan import PointPlan
from inventory.calc.setup_checks import SizeRow, WarningKind, overlap
from inventory.calc.sizing import fit_sizes, fit_sizes_many
from inventory.calc.uncertainty import ReadingError

CM = 10_000_000

# EN 13402-3:2004, men's letter codes, chest girth in cm; second-hand.
MEN = {"S": (86, 94), "M": (94, 102), "L": (102, 110), "XL": (110, 118), "XXL": (118, 129)}
# EN 13402-3:2004, women's letter codes, bust girth in cm; from memory, unverified.
WOMEN = {"XS": (74, 82), "S": (82, 90), "M": (90, 98), "L": (98, 106), "XL": (107, 119), "XXL": (119, 131)}


def rows(chart: dict[str, tuple[int, int]]) -> list[SizeRow]:
    """The middle of each interval as nominal, half its width as tolerance."""
    return [
        SizeRow(size, (low + high) * CM // 2, (high - low) * CM // 2, (high - low) * CM // 2)
        for size, (low, high) in chart.items()
    ]


def grid(chart: dict[str, tuple[int, int]]) -> dict[str, dict[str, PointPlan]]:
    return {
        row.size: {
            "CH": PointPlan(
                code="CH",
                kind="full",
                paired=False,
                nominal_nm=row.nominal_nm,
                minus_nm=row.minus_nm,
                plus_nm=row.plus_nm,
                basis="full",
                pair_limit=None,
                error=ReadingError(0, 0),
            )
        }
        for row in rows(chart)
    }


def size_of(chart: dict[str, tuple[int, int]], girth_nm: int, *, labelled: str) -> str | None:
    return fit_sizes({("CH", "S"): girth_nm}, grid(chart), labelled=labelled).size


def test_the_intervals_for_men_meet_at_every_step_and_never_cross() -> None:
    """EN 13402-3:2004, second-hand: where one interval ends the next begins."""
    warnings = overlap("CH", rows(MEN), display=Display(Unit.CM))
    assert [warning.kind for warning in warnings] == [WarningKind.MEET] * 4
    assert [warning.sizes for warning in warnings] == [("S", "M"), ("M", "L"), ("L", "XL"), ("XL", "XXL")]
    assert "S ends at 94 cm, M begins at 94 cm" in warnings[0].message


def test_the_gap_between_l_and_xl_for_women_is_seen() -> None:
    """EN 13402-3:2004, from memory, unverified: L ends at 106, XL begins at 107 cm."""
    warned = [warning.sizes for warning in overlap("CH", rows(WOMEN), display=Display(Unit.CM))]
    assert ("L", "XL") not in warned
    assert len(warned) == 4
    assert size_of(WOMEN, parse("106.5", unit=Unit.CM).nm, labelled="S") is None


@pytest.mark.parametrize(
    ("chest_cm", "size"), [(86, "S"), (90, "S"), (98, "M"), (109, "L"), (115, "XL"), (129, "XXL"), (85, None)]
)
def test_a_man_s_chest_finds_its_letter(chest_cm: int, size: str | None) -> None:
    """EN 13402-3:2004, second-hand."""
    wrong = "XXL" if size != "XXL" else "S"
    assert size_of(MEN, chest_cm * CM, labelled=wrong) == size


def test_a_chest_on_the_border_keeps_the_letter_on_its_label() -> None:
    """EN 13402-3:2004, second-hand: 102 cm ends M and begins L."""
    assert size_of(MEN, 102 * CM, labelled="M") == "M"
    assert size_of(MEN, 102 * CM, labelled="L") == "L"
    assert size_of(MEN, 102 * CM, labelled="S") == "M"


def test_the_average_chest_of_252_men_is_a_medium() -> None:
    """Johnson, Journal of Statistics Education 4(1), 1996: mean chest 100.82 cm; from memory."""
    mean = np.array([[parse("100.82", unit=Unit.CM).nm]])
    many = fit_sizes_many((("CH", "S"),), mean, np.ones((1, 1), np.bool_), grid(MEN), labelled="S")
    assert many.sizes[many.size[0]] == "M"


@pytest.mark.parametrize(
    ("bust", "printed_cm", "letter", "source"),
    [
        ("34 in", "86.36 cm", "S", "CS 215-58 (1958), size 12, second-hand"),
        ("38 3/4 in", "98.425 cm", "L", "ASTM D5585-11e1, size 12, second-hand"),
    ],
)
def test_one_size_number_in_two_tables_is_two_sizes(
    bust: str, printed_cm: str, letter: str, source: str
) -> None:
    nm = parse(bust, unit=Unit.INCH).nm
    assert show_exact(nm, unit=Unit.CM) == printed_cm, source
    assert size_of(WOMEN, nm, labelled="XS") == letter, source
