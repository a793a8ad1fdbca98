"""Typed lengths: what is understood, what is refused, and that showing and reading agree."""

import pickle
import random
import re
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pint
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from inventory.calc import length
from inventory.calc.errors import ImpossibleInput, LengthNotUnderstood
from inventory.calc.length import Display, Rounding, Unit
from tests.closeness import exact

UNITS = tuple(Unit)
MM, CM, INCH = Unit.MM, Unit.CM, Unit.INCH

length.nm_per_unit()  # loads the unit library now, so that no timed example pays for it

lengths_nm = st.integers(0, length.MAX_NM)
any_unit = st.sampled_from(UNITS)


def _refusal(typed: str, unit: Unit) -> LengthNotUnderstood:
    with pytest.raises(LengthNotUnderstood) as caught:
        length.parse(typed, unit=unit)
    return caught.value


@pytest.mark.parametrize(
    ("typed", "inspection", "mm", "unit", "unit_was_typed"),
    [
        ("13 1/2", INCH, "342.9", INCH, False),
        ('13-1/2"', INCH, "342.9", INCH, True),
        ("13½", INCH, "342.9", INCH, False),
        ("13 ½ in", MM, "342.9", INCH, True),
        ("13.5 in", CM, "342.9", INCH, True),
        ("34,3 cm", INCH, "343", CM, True),
        ("343", MM, "343", MM, False),
        ("34.3", CM, "343", CM, False),
        ("343 mm", CM, "343", MM, True),
        ("343MM", CM, "343", MM, True),
        ("1' 2 1/4\"", MM, "361.95", INCH, True),
        ("1'-2 1/4\"", MM, "361.95", INCH, True),
        ("1′2½″", MM, "368.3", INCH, True),
        ("1 ft 2 in", MM, "355.6", INCH, True),
        ("1 ft", MM, "304.8", INCH, True),
        ("1' 2", MM, "355.6", INCH, True),
        ("3 feet", MM, "914.4", INCH, True),
        ("13 1/2 in", MM, "342.9", INCH, True),
        ("13 1/2 in.", MM, "342.9", INCH, True),
        ("13 1/2 inches", MM, "342.9", INCH, True),
        ("1 inch", MM, "25.4", INCH, True),
        (".5 in", MM, "12.7", INCH, True),
        (",5 in", MM, "12.7", INCH, True),
        ("3/8", INCH, "9.525", INCH, False),
        ("12 5/8", INCH, "320.675", INCH, False),
        ("12⅝", INCH, "320.675", INCH, False),
        ("12 5⁄8", INCH, "320.675", INCH, False),
        ("12 5 / 8", INCH, "320.675", INCH, False),
        ("12-⅝", INCH, "320.675", INCH, False),
        ("12\u20115/8", INCH, "320.675", INCH, False),
        ("12\u00a05/8″", MM, "320.675", INCH, True),
        ("12\u20095/8”", MM, "320.675", INCH, True),
        ("12 5/8''", MM, "320.675", INCH, True),
        ("12  5/8", INCH, "320.675", INCH, False),
        ("  343 \r\n", MM, "343", MM, False),
        ("１２.５", CM, "125", CM, False),
        ("0", INCH, "0", INCH, False),
        ("0.0 mm", INCH, "0", MM, True),
        ("0343.0", MM, "343", MM, False),
        ("0,125", INCH, "3.175", INCH, False),
        ("1234,567", MM, "1234.567", MM, False),
        ("34,35", CM, "343.5", CM, False),
        ("13.125", INCH, "333.375", INCH, False),
        ("10000", MM, "10000", MM, False),
        ("34.3 centimetres", MM, "343", CM, True),
    ],
)
def test_what_people_type_becomes_an_exact_length(
    typed: str,
    inspection: Unit,
    mm: str,
    unit: Unit,
    unit_was_typed: bool,  # noqa: FBT001  # a column of the table above
) -> None:
    parsed = length.parse(typed, unit=inspection)
    assert exact(parsed.nm, int(Decimal(mm) * length.NM_PER_MM))
    assert (parsed.typed, parsed.unit, parsed.unit_was_typed) == (typed, unit, unit_was_typed)


@pytest.mark.parametrize("sixteenths", range(1, 16))
def test_every_mark_of_an_inch_tape_reads_alike_in_all_its_spellings(sixteenths: int) -> None:
    fraction = Fraction(sixteenths, 16)
    spellings = [f"7 {fraction}", f"7-{fraction}", f"7 {sixteenths}/16", f"{7 + float(fraction)}"]
    spellings += [f"0' 7 {fraction}\"", f"7 {sixteenths * 4}/64", f"{7 + float(fraction)}".replace(".", ",")]
    clear = [s for s in spellings if not re.search(",[0-9]{3}$", s)]
    assert {length.parse(s, unit=INCH).nm for s in clear} == {int((7 + fraction) * 25_400_000)}


@pytest.mark.parametrize(
    ("vulgar", "fraction"),
    [*zip("¼½¾⅛⅜⅝⅞", ["1/4", "1/2", "3/4", "1/8", "3/8", "5/8", "7/8"], strict=True)],
)
def test_a_fraction_sign_is_the_fraction_it_shows(vulgar: str, fraction: str) -> None:
    assert length.parse(f"9{vulgar}", unit=INCH).nm == length.parse(f"9 {fraction}", unit=INCH).nm
    assert length.parse(vulgar, unit=INCH).nm == length.parse(fraction, unit=INCH).nm


@pytest.mark.parametrize(
    ("typed", "unit", "read_as", "cure"),
    [
        ("", MM, "nothing", "343"),
        ("   ", INCH, "nothing", "13 1/2"),
        ("-5", MM, "signed figure", "5 without the sign"),
        ("+5", MM, "signed figure", "5 without the sign"),
        ("−5", MM, "signed figure", "5 without the sign"),
        ("±6", MM, "both sides", "separately"),
        ("1e3", MM, "power of ten", "written out"),
        ("1.5E-2", MM, "power of ten", "written out"),
        ("nan", MM, "a word", "leave it empty"),
        ("inf", MM, "a word", "leave it empty"),
        ("#N/A", MM, "a word", "leave it empty"),
        ("1,234", MM, "either 1.234 or 1234", "1.234 or 1234"),
        ("12,125", INCH, "either 12.125 or 12125", "12.125"),
        ("1.234,5", MM, "more than one point or comma", "1234.5"),
        ("1,234.5 mm", MM, "more than one point or comma", "1234.5 mm"),
        ("1,234,567", MM, "more than one point or comma", "1234567"),
        ("34 3", CM, "two figures, 34 and 3", "34.3 or 343"),
        ("1 234", MM, "two figures, 1 and 234", "1.234 or 1234"),
        ("343 344", MM, "two figures", "one of the two"),
        ("330-340", MM, "range or a sum", "one figure"),
        ("12 - 1/2", INCH, "range or a sum", "one figure"),
        ("12 in 3 cm", MM, "two units", "one unit"),
        ("1' 3 cm", MM, "two units", "one unit"),
        ('12" in', MM, "two units", "one unit"),
        ('12" 3/8', MM, "fraction after the unit", "12 3/8 in"),
        ("13 1/2", CM, "a fraction of cm, the unit where none is typed", "13 1/2 in"),
        ("3/8", MM, "a fraction of mm, the unit where none is typed", "3/8 in"),
        ("13½", CM, "a fraction of cm", "13 1/2 in"),
        ("13 1/2 cm", INCH, "a fraction of cm", "13 1/2 in"),
        ("13 1/3", INCH, "3 below the line", "2, 4, 8, 16, 32, 64"),
        ("13⅓", INCH, "3 below the line", "a decimal"),
        ("13 1/10", INCH, "10 below the line", "a decimal"),
        ("1/128", INCH, "128 below the line", "a decimal"),
        ("5/4", INCH, "not below one, 5/4", "1 1/4"),
        ("8/8", INCH, "not below one, 8/8", "1"),
        ("125/8", INCH, "not below one, 125/8", "12 5/8 or 15 5/8"),
        ("1 9/8", INCH, "not below one, 9/8", "2 1/8"),
        ("13.5 1/2", INCH, "a decimal and a fraction", "one of the two"),
        ("13.", INCH, "stops in the middle", "13"),
        ("12/", INCH, "stops in the middle", "12"),
        ("1.5'", INCH, "feet that are not a whole number", "in inches"),
        ("1' 14\"", INCH, "12 or more inches", "in inches"),
        ("1'000", MM, "12 or more inches", "in inches"),
        ("34.3 kg", MM, 'a figure in "kg"', "34.3 cm"),
        ("0,343 m", MM, "metres", "34.3 cm"),
        ("cm", MM, "without a figure", "343"),
        ("abc", MM, "without a figure", "343"),
        ("3/8/2024", INCH, "a date", "3/8 in"),
        ("08.03.2024", INCH, "a date", "3/8 in"),
        ("2024-05-08", INCH, "a date", "5/8 in"),
        ("2024-05-08 00:00:00", INCH, "a date", "5/8 in"),
        ("Mar 8", INCH, "a date", "3/8 in"),
        ("08-Mar", INCH, "a date", "3/8 in"),
        ("08. Mrz", INCH, "a date", "3/8 in"),
        ("12\t5", MM, "invisible sign in it (U+0009)", "by hand"),
        ("12\x005", MM, "invisible sign in it (U+0000)", "by hand"),
        ("12\u200b5", MM, "invisible sign in it (U+200B)", "by hand"),
        ("٣٤", MM, "digits this tool does not read", "0 to 9"),
        ("10001", MM, "more than 10 m", "decimal point"),
        ("10000.000001", MM, "more than 10 m", "decimal point"),
        ("999999999999", CM, "more than 10 m", "decimal point"),
        ("1.2345678", MM, "finer than a millionth", "6 decimals"),
        ("1.23456789", CM, "finer than a millionth", "7 decimals"),
        ("0.0000005", INCH, "finer than a millionth", "5 decimals"),
        ("=1+1", MM, "something other than a length", "one figure"),
        ("½4", INCH, "something other than a length", "one figure"),
        ("⅙4", INCH, "something other than a length", "one figure"),
        ("3..4", MM, "something other than a length", "one figure"),
    ],
)
def test_what_is_unclear_is_refused_with_what_was_read_and_what_to_type(
    typed: str, unit: Unit, read_as: str, cure: str
) -> None:
    refusal = _refusal(typed, unit)
    assert read_as in refusal.read_as
    assert cure in refusal.cure
    assert str(refusal) == f'"{refusal.typed}" was read as {refusal.read_as}. Type {refusal.cure}.'


def test_a_long_text_is_quoted_in_part() -> None:
    refusal = _refusal("9" * 5000, MM)
    assert refusal.typed == "9" * 39 + "…"
    assert "5000 signs" in refusal.read_as


def test_forty_signs_are_read_and_forty_one_refused() -> None:
    assert length.parse("0" * 37 + "343", unit=MM).nm == 343_000_000
    assert "41 signs" in _refusal("0" * 38 + "343", MM).read_as


def test_ten_metres_are_the_longest_length() -> None:
    assert length.parse("1000 cm", unit=MM).nm == length.MAX_NM
    assert length.parse("393.7", unit=INCH).nm < length.MAX_NM
    assert "more than 10 m" in _refusal("394", INCH).read_as


def test_the_unit_of_the_inspection_holds_only_when_none_is_typed() -> None:
    assert length.parse("34", unit=CM).nm == 10 * length.parse("34", unit=MM).nm
    assert {length.parse("34 cm", unit=unit).nm for unit in UNITS} == {340_000_000}


def test_a_refusal_survives_the_way_back_from_another_process() -> None:
    refusal = _refusal("34 3", CM)
    copy = pickle.loads(pickle.dumps(refusal))  # noqa: S301  # our own bytes
    assert (str(copy), copy.cure) == (str(refusal), refusal.cure)


@pytest.mark.parametrize(
    ("typed", "nm"),
    [
        ("+6", 6_000_000),
        ("-6", -6_000_000),
        ("−6,5 mm", -6_500_000),
        ("– 1/4 in", -6_350_000),
        ("6", 6_000_000),
        ("-0", 0),
    ],
)
def test_deviations_take_a_sign(typed: str, nm: int) -> None:
    parsed = length.parse_signed(typed, unit=MM)
    assert exact(parsed.nm, nm)
    assert parsed.typed == typed


@pytest.mark.parametrize("typed", ["--6", "+-6", "-", "- 1,234", "6-", "±6"])
def test_a_deviation_that_is_unclear_is_refused_in_full(typed: str) -> None:
    with pytest.raises(LengthNotUnderstood) as caught:
        length.parse_signed(typed, unit=MM)
    assert caught.value.typed == typed


@given(nm=lengths_nm, unit=any_unit)
@example(nm=342_900_000, unit=INCH)
@example(nm=342_900_127, unit=INCH)
@example(nm=1, unit=INCH)
@example(nm=length.MAX_NM, unit=CM)
def test_an_exactly_shown_length_reads_back_as_itself(nm: int, unit: Unit) -> None:
    assert length.parse(length.show_exact(nm, unit=unit), unit=unit).nm == nm
    assert length.parse_signed(length.show_exact(-nm, unit=unit), unit=unit).nm == -nm


@given(sixty_fourths=st.integers(0, 64 * 393))
def test_the_same_length_typed_in_any_unit_is_the_same(sixty_fourths: int) -> None:
    inches = Fraction(sixty_fourths, 64)
    mm = Decimal(sixty_fourths) * Decimal("0.396875")
    whole, part = divmod(inches, 1)
    typed = [f"{mm:f} mm", f"{mm / 10:f} cm", f"{whole} {part} in" if part else f"{whole} in"]
    typed += [t.replace(".", ",") for t in typed if not re.search(r"[1-9][0-9]{0,2}\.[0-9]{3} ", t)]
    assert len({length.parse(t, unit=unit).nm for t in typed for unit in UNITS if t[0] != "."}) == 1


@given(nm=st.integers(0, length.MAX_NM - 25_400_000), unit=any_unit)  # rounding up may pass 10 m
def test_what_is_shown_without_rounding_reads_back_as_itself(nm: int, unit: Unit) -> None:
    for display in (Display(unit), Display(INCH, 16)):
        rounded = length.parse(length.show(nm, display), unit=unit).nm
        assert (rounded == nm) == length.shows_exactly(nm, display)
        bare = length.parse(length.show(nm, display, with_unit=False), unit=display.unit)
        assert bare.nm == rounded
        step = {MM: 100_000, CM: 100_000, INCH: 25_400}[unit] if display.denominator is None else 1_587_500
        assert abs(rounded - nm) <= step // 2


def _inches(figure: str) -> Fraction:
    """What a reader adds up: the figure on the page, its sign included."""
    sign, bare = (-1, figure[1:]) if figure[0] == "−" else (1, figure.removeprefix("+"))
    return sign * sum((Fraction(part) for part in bare.split()), Fraction(0))


# One tape goes by sixteenths, its half marks are 1/32, and a mean of four such readings is a 1/64.
@given(
    left=st.integers(0, 64 * 60),
    right=st.integers(0, 64 * 60),
    nominal=st.integers(0, 64 * 60),
    shop=st.sampled_from([2, 4, 8, 16, 32, 64]),
)
@example(left=14 * 64 + 28, right=14 * 64 + 24, nominal=14 * 64 + 32, shop=8)  # 14 7/16 and 14 3/8
@example(left=14 * 64 + 60, right=14 * 64 + 32, nominal=14 * 64 + 32, shop=8)  # 14 15/16, +7/16
def test_marks_of_a_tape_are_shown_exactly_and_add_up_on_the_page(
    left: int, right: int, nominal: int, shop: int
) -> None:
    mark_nm, display = 25_400_000 // 64, Display(INCH, shop)

    def face(marks: int, *, signed: bool = False) -> Fraction:
        assert length.shows_exactly(marks * mark_nm, display)
        return _inches(length.show(marks * mark_nm, display, signed=signed, with_unit=False))

    assert face(left) == Fraction(left, 64)
    assert face(left + right) == face(left) + face(right)
    assert face(left - right, signed=True) == face(left) - face(right)
    assert face(left - nominal, signed=True) == face(left) - face(nominal)
    if (left + right) % 2 == 0:
        assert face((left + right) // 2) == (face(left) + face(right)) / 2


@pytest.mark.parametrize(
    ("nm", "display", "text"),
    [
        (3_000_000, Display(INCH, 8), "0.12 in"),
        (1_500_000, Display(INCH, 16), "0.06 in"),
        (1, Display(INCH, 8), "0.01 in"),
        (1, Display(INCH), "0.01 in"),
        (254_000, Display(INCH, 8), "0.01 in"),
        (254_001, Display(INCH, 8), "0.02 in"),
        (5_080_000, Display(INCH), "0.20 in"),
        (25_400_000, Display(INCH, 8), "1.00 in"),
        (3_290_000, Display(MM), "3.3 mm"),
        (3_300_001, Display(MM), "3.4 mm"),
        (3_290_000, Display(CM), "0.33 cm"),
        (0, Display(INCH, 8), "0.00 in"),
        (0.25, Display(INCH, 8), "0.01 in"),  # the standard error of a mean is a float
    ],
)
def test_an_uncertainty_is_shown_in_decimals_rounded_up(nm: float, display: Display, text: str) -> None:
    assert length.show_uncertainty(nm, display) == text
    assert length.show_uncertainty(nm, display, with_unit=False) == text.split(maxsplit=1)[0]


@given(nm=st.integers(1, 10**9), unit=any_unit)
def test_an_uncertainty_is_never_understated_nor_shown_as_none(nm: int, unit: Unit) -> None:
    stated = length.parse(length.show_uncertainty(nm, Display(unit)), unit=unit).nm
    assert nm <= stated < nm + {MM: 100_000, CM: 100_000, INCH: 254_000}[unit]


@given(nm=st.integers(0, 10**9), unit=any_unit)
def test_a_stretch_within_which_something_holds_is_never_overstated(nm: int, unit: Unit) -> None:
    for display in (Display(unit), Display(INCH, 8)):
        said = length.parse(length.show_within(nm, display), unit=display.unit).nm
        assert said <= nm < said + {MM: 100_000, CM: 100_000, INCH: 793_750}[display.unit]
        assert length.show_within(-nm, display).removeprefix("−") == length.show_within(nm, display)


@pytest.mark.parametrize(
    ("nm", "text"),
    [(3, "1/8 in"), (5, "3/16 in"), (6, "1/4 in"), (10, "3/8 in"), (13, "1/2 in"), (0, "0 in")],
)
def test_a_planning_value_is_a_round_figure_in_either_unit(nm: int, text: str) -> None:
    assert length.propose(nm * 1_000_000, unit=INCH) == text
    assert length.propose(nm * 1_000_000, unit=MM) == f"{nm} mm"


def test_a_planning_value_that_a_tape_shows_is_proposed_as_it_is() -> None:
    assert length.propose(396_875, unit=INCH) == "1/64 in"
    assert length.propose(400_000, unit=INCH) == "1/16 in"


@settings(max_examples=1500, deadline=None)
@given(typed=st.text(max_size=60), unit=any_unit)
def test_any_text_is_either_read_or_refused(typed: str, unit: Unit) -> None:
    _read_or_refused(typed, unit)


def test_ten_thousand_near_lengths_are_either_read_or_refused() -> None:
    rng = random.Random(20_240)
    pieces = [
        *"0123456789./,- '\"½⅝⁄″′ \t\u00a0e+",
        "mm",
        "cm",
        "in",
        "ft",
        "12",
        " 5/8",
        "34,3",
        "Mar",
        "\u2028",
    ]
    read = 0
    for _ in range(10_000):
        typed = "".join(rng.choices(pieces, k=rng.randint(0, 7)))
        read += _read_or_refused(typed, rng.choice(UNITS))
    assert 500 < read < 9_500, "the texts should be a mixture, or this test says little"


def _read_or_refused(typed: str, unit: Unit) -> bool:
    try:
        parsed = length.parse(typed, unit=unit)
    except LengthNotUnderstood as refusal:
        str(refusal).encode()
        complete = bool(refusal.read_as and refusal.cure)
        return not complete and pytest.fail(f"half a refusal: {refusal}")
    assert 0 <= parsed.nm <= length.MAX_NM
    assert type(parsed.nm) is int
    return True


def test_our_factors_are_those_of_the_unit_library() -> None:
    registry: pint.UnitRegistry[Fraction] = pint.UnitRegistry(non_int_type=Fraction)
    names = {MM: "mm", CM: "cm", INCH: "inch"}
    for unit, nm in length.nm_per_unit().items():
        assert nm == registry.convert(Fraction(1), names[unit], "nm")
    assert length.nm_per_unit() == {MM: 1_000_000, CM: 10_000_000, INCH: 25_400_000}


def test_importing_the_module_does_not_load_the_unit_library() -> None:
    script = "import sys, inventory.calc.length; sys.exit('pint' in sys.modules or 'django' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0


def test_a_plain_unit_code_from_a_database_row_works_like_the_unit() -> None:
    assert {Unit("in"): 1}["in"] == 1  # type: ignore[index]


@pytest.mark.parametrize(
    ("nm", "display", "text"),
    [
        (342_900_000, Display(INCH, 8), "13 1/2 in"),
        (342_900_000, Display(INCH, 16), "13 1/2 in"),
        (342_900_000, Display(INCH), "13.5 in"),
        (342_900_000, Display(MM), "342.9 mm"),
        (342_900_000, Display(CM), "34.29 cm"),
        (343_000_000, Display(MM), "343 mm"),
        (343_000_000, Display(INCH), "13.504 in"),
        (9_525_000, Display(INCH, 8), "3/8 in"),
        (369_887_500, Display(INCH, 8), "14 9/16 in"),
        (369_887_501, Display(INCH, 8), "14 5/8 in"),  # no mark of a tape: to the shop's eighth
        (396_875, Display(INCH, 2), "1/64 in"),
        (343_000_000, Display(INCH, 8), "13 1/2 in"),
        (0, Display(INCH, 8), "0 in"),
        (0, Display(MM), "0 mm"),
        (343_049_999, Display(MM), "343 mm"),
        (343_050_000, Display(MM), "343 mm"),  # half way, to the even tenth
        (343_150_000, Display(MM), "343.2 mm"),
        (343_050_001, Display(MM), "343.1 mm"),
        (-6_000_000, Display(MM), "−6 mm"),
    ],
)
def test_lengths_are_shown_in_the_unit_of_the_shop(nm: int, display: Display, text: str) -> None:
    assert length.show(nm, display) == text


@pytest.mark.parametrize(
    ("nm", "display", "text"),
    [
        (6_000_000, Display(MM), "+6.0 mm"),
        (-6_000_000, Display(MM), "−6.0 mm"),
        (0, Display(MM), "0.0 mm"),
        (40_000, Display(MM), "0.0 mm"),
        (-40_000, Display(MM), "0.0 mm"),
        (6_350_000, Display(INCH, 8), "+1/4 in"),
        (-28_575_000, Display(INCH, 16), "−1 1/8 in"),
        (11_112_500, Display(INCH, 8), "+7/16 in"),
        (-1_587_500, Display(INCH, 8), "−1/16 in"),
        (-1_000_000, Display(INCH, 8), "0 in"),
        (6_350_000, Display(INCH), "+0.250 in"),
        (-6_000_000, Display(CM), "−0.60 cm"),
    ],
)
def test_deviations_are_shown_with_a_real_sign(nm: int, display: Display, text: str) -> None:
    assert length.show(nm, display, signed=True) == text


@pytest.mark.parametrize(("unit", "denominator"), [(MM, 8), (CM, 2), (INCH, 3), (INCH, 0), (INCH, 128)])
def test_a_display_no_tape_has_is_refused(unit: Unit, denominator: int) -> None:
    with pytest.raises(ImpossibleInput, match=r"^Display is "):
        Display(unit, denominator)


@pytest.mark.parametrize(
    ("mm", "nm"),
    [("342.9", 342_900_000), (-3, -3_000_000), (Decimal("0.000001"), 1), ("0E-20", 0), ("1E1", 10**7)],
)
def test_exact_millimetres_become_nanometres(mm: Decimal | int | str, nm: int) -> None:
    assert exact(length.from_mm(mm), nm)


@pytest.mark.parametrize(
    "mm",
    [
        "0.0000001",
        "1E-999999999",
        "1E999999999",
        "nan",
        "inf",
        "10000.1",
        "-10001",
        "3,4",
        "",
        None,
        3.5,
        True,
    ],
)
def test_millimetres_that_are_not_exact_are_refused(mm: str) -> None:
    with pytest.raises(ImpossibleInput, match=r"^Length in mm is "):
        length.from_mm(mm)


@given(nm=st.integers(-length.MAX_NM, length.MAX_NM))
def test_millimetres_and_nanometres_are_the_same_length(nm: int) -> None:
    mm = length.to_mm(nm)
    assert length.from_mm(mm) == nm
    assert length.from_mm(str(mm)) == nm
    assert "E" not in str(mm) or nm % 1_000 != 0


@given(nm=st.integers(-(10**12), 10**12), step=st.integers(1, 10**8), rule=st.sampled_from([*Rounding]))
def test_rounding_goes_to_the_nearest_multiple(nm: int, step: int, rule: Rounding) -> None:
    rounded = length.round_to(nm, step_nm=step, rule=rule)
    assert rounded % step == 0
    assert 2 * abs(rounded - nm) <= step
    assert length.round_to(-nm, step_nm=step, rule=rule) == -rounded
    assert length.round_to(rounded, step_nm=step, rule=rule) == rounded
    if 2 * abs(rounded - nm) == step:
        tied_as_told = (rounded // step) % 2 == 0 if rule is Rounding.HALF_EVEN else abs(rounded) > abs(nm)
        assert tied_as_told


@pytest.mark.parametrize("step", [0, -1])
def test_rounding_to_no_step_is_refused(step: int) -> None:
    with pytest.raises(ImpossibleInput, match="step above zero"):
        length.round_to(5, step_nm=step)
