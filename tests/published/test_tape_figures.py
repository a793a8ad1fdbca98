"""Tapes against the law's tables.

Source of every figure: Directive 2014/32/EU, Annex X (MI-008), chapter I, table 1 (the UK statutory
instrument 2016/1153, schedule 1I, has the same); found. The limits for given lengths are worked from the
formula by us; the directive prints none.
"""

import pytest

from inventory.calc import tape_class
from inventory.calc.tape_class import TapeClass
from tests.closeness import exact

TENTH = 100_000
I, II, III = TapeClass.I, TapeClass.II, TapeClass.III  # noqa: E741 - the classes are called so


@pytest.mark.parametrize(("cls", "a", "b", "c"), [(I, 1, 1, 1), (II, 3, 2, 2), (III, 6, 4, 3)])
def test_the_coefficients_of_a_class(cls: TapeClass, a: int, b: int, c: int) -> None:
    """Table 1: a, b, c in mm for classes I and II; class III as its limits below need it."""
    one, two = (tape_class.mpe_nm(cls, metres * 10**9) for metres in (1, 2))
    assert (two - one, 2 * one - two) == (b * TENTH, a * TENTH)
    assert tape_class.mpe_nm(cls, 10**9, from_end=True) - one == c * TENTH


@pytest.mark.parametrize(
    ("cls", "mm", "tenths"),
    [
        (I, 300, 2),
        (II, 300, 5),
        (I, 1000, 2),
        (II, 1500, 7),
        (III, 1500, 14),
        (I, 2000, 3),
        (III, 2000, 14),
        (I, 3000, 4),
        (II, 3000, 9),
        (III, 3000, 18),
        (I, 5000, 6),
        (III, 5000, 26),
    ],
)
def test_the_limit_between_two_marks(cls: TapeClass, mm: int, tenths: int) -> None:
    assert exact(tape_class.mpe_nm(cls, mm * 10**6), tenths * TENTH)


@pytest.mark.parametrize(
    ("cls", "mm", "tenths"), [(I, 300, 3), (II, 300, 7), (III, 300, 13), (III, 1000, 13), (III, 1500, 17)]
)
def test_the_limit_from_the_end_or_hook(cls: TapeClass, mm: int, tenths: int) -> None:
    assert exact(tape_class.mpe_nm(cls, mm * 10**6, from_end=True), tenths * TENTH)


def test_the_limit_of_one_interval_of_the_scale() -> None:
    """Table 2: above 1 mm and up to 1 cm: 0.2, 0.4, 0.6 mm for classes I, II, III."""
    limits = [tape_class.interval_mpe_nm(cls, 10**7) for cls in (I, II, III)]
    assert limits == [2 * TENTH, 4 * TENTH, 6 * TENTH]
    assert [tape_class.interval_mpe_nm(cls, 10**6 + 1) for cls in (I, II, III)] == limits


def test_the_conditions_the_limits_hold_under() -> None:
    """Points 1.1 and 1.2: 20 °C; tapes of 5 m and more pulled with 50 N."""
    assert (tape_class.REFERENCE_TEMPERATURE_C, tape_class.REFERENCE_TENSION_N) == (20, 50)
