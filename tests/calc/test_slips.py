"""The slip guard: quiet on honest readings, and right about the slip when there is one."""

import random
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from inventory.calc import length, slips
from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Display, Parsed, Unit, parse
from inventory.calc.slips import Expected, Slip, SlipKind
from inventory.calc.slips.digits import fraction_behind_decimals, swapped_digits
from inventory.calc.slips.kinds import PointKind
from inventory.calc.slips.repeats import disagrees, most_apart_nm
from inventory.calc.uncertainty import ReadingError
from tests.calc import slip_bench
from tests.calc.slip_bench import PAIR_SPREAD_NM, SPREAD_NM, WAYS, Moment
from tests.closeness import exact

MM, CM, INCH = Unit.MM, Unit.CM, Unit.INCH
ONE_MM = 1_000_000
ONE_INCH = 25_400_000
EIGHTHS = Display(INCH, 8)

HALF = Expected(330 * ONE_MM, 321 * ONE_MM, 339 * ONE_MM)
HALF_IN_INCHES = Expected(13 * ONE_INCH, 13 * ONE_INCH - 9 * ONE_MM, 13 * ONE_INCH + 9 * ONE_MM)

length.nm_per_unit()  # loads the unit library now, so that no timed example pays for it


def _found(typed: str, unit: Unit, expected: Expected = HALF, **known: object) -> tuple[Slip, ...]:
    return slips.look_for_slips(parse(typed, unit=unit), expected=expected, **known)  # type: ignore[arg-type]


def _first(typed: str, unit: Unit, expected: Expected = HALF, **known: object) -> Slip:
    return _found(typed, unit, expected, **known)[0]


@pytest.mark.parametrize(
    ("typed", "unit", "kind", "suggestion"),
    [
        ("660", MM, SlipKind.FULL_FOR_HALF, "330 mm"),
        ("66", CM, SlipKind.FULL_FOR_HALF, "33 cm"),
        ("26", INCH, SlipKind.FULL_FOR_HALF, "13 in"),
        ("13", CM, SlipKind.INCH_FOR_CM, "330.2 mm"),
        ("13", MM, SlipKind.INCH_FOR_MM, "330.2 mm"),
        ("33", MM, SlipKind.CM_FOR_MM, "330 mm"),
        ("330", CM, SlipKind.MM_FOR_CM, "330 mm"),
        ("33", INCH, SlipKind.CM_FOR_INCH, "330 mm"),
        ("330", INCH, SlipKind.MM_FOR_INCH, "330 mm"),
        ("3300", MM, SlipKind.DECIMAL_POINT, "330 mm"),
        ("3.3", CM, SlipKind.DECIMAL_POINT, "330 mm"),
        ("130", INCH, SlipKind.DECIMAL_POINT, "13 in"),
        ("12.34", INCH, SlipKind.FRACTION_AS_DECIMALS, "12 3/4 in"),
        ("355.4", MM, SlipKind.START_MARK_INCH, "330 mm"),
        ("14", INCH, SlipKind.START_MARK_INCH, "13 in"),
        ("430", MM, SlipKind.START_MARK_10CM, "330 mm"),
        ("340", MM, SlipKind.TENS, "330 mm"),
        ("310", MM, SlipKind.TENS, "330 mm"),
        ("12", INCH, SlipKind.TENS, "13 in"),
        ("3 1/8", INCH, SlipKind.TENS, "13 1/8 in"),
        ("233", MM, SlipKind.SWAPPED_DIGITS, "323 mm"),
        ("31 1/4", INCH, SlipKind.SWAPPED_DIGITS, "13 1/4 in"),
        ("0", MM, SlipKind.NOTHING_READ, None),
    ],
)
def test_each_slip_is_named_first_in_its_plain_case(
    typed: str, unit: Unit, kind: SlipKind, suggestion: str | None
) -> None:
    slip = _first(typed, unit, HALF_IN_INCHES if unit is INCH else HALF)
    assert slip.kind is kind
    expected_nm = None if suggestion is None else parse(suggestion, unit=MM).nm
    assert exact(slip.suggestion_nm, expected_nm)


def test_the_half_typed_for_the_full_girth_is_named_on_a_full_point_only() -> None:
    full = Expected(660 * ONE_MM, 648 * ONE_MM, 672 * ONE_MM)
    slip = _first("331", MM, full, kind="full")
    assert (slip.kind, slip.suggestion_nm) == (SlipKind.HALF_FOR_FULL, 662 * ONE_MM)
    assert [slip.kind for slip in _found("331", MM, full, kind="half")] == [SlipKind.FAR_OFF]


@pytest.mark.parametrize("kind", ["length", "placement", "full"])
def test_only_a_half_can_be_taken_for_the_full_girth(kind: PointKind) -> None:
    assert SlipKind.FULL_FOR_HALF not in {slip.kind for slip in _found("660", MM, kind=kind)}


def test_a_figure_in_the_wrong_row_names_the_row_it_fits() -> None:
    rows = {"WA": Expected(280 * ONE_MM, 274 * ONE_MM, 286 * ONE_MM)}
    slip = _first("281", MM, neighbours=rows)
    assert (slip.kind, slip.suggestion_nm) == (SlipKind.NEIGHBOUR_POINT, None)
    assert "It fits WA (280 mm)" in slip.question


def test_a_wrong_size_comes_first_once_other_readings_of_the_piece_say_so() -> None:
    sizes = {"24": Expected(355_400_000, 346_400_000, 364_400_000)}
    lone = _found("355", MM, neighbour_sizes=sizes)
    assert lone[0].kind is SlipKind.START_MARK_INCH
    backed = _found("355", MM, neighbour_sizes=sizes, size_votes={"24": 2})
    assert backed[0].kind is SlipKind.NEIGHBOUR_SIZE
    assert "size 24 (355.4 mm)" in backed[0].question
    contradicted = _found("355", MM, neighbour_sizes=sizes, size_votes={"24": -2})
    assert contradicted[-1].kind is SlipKind.NEIGHBOUR_SIZE


def test_sides_in_each_others_box_show_where_the_spec_makes_them_differ() -> None:
    right = Expected(360 * ONE_MM, 351 * ONE_MM, 369 * ONE_MM)
    crossed = _first("361", MM, other_side_nm=331 * ONE_MM, other_side_expected=right)
    assert (crossed.kind, crossed.suggestion_nm) == (SlipKind.SIDES_SWAPPED, 331 * ONE_MM)
    unread = _found("361", MM, other_side_expected=right)
    assert SlipKind.SIDES_SWAPPED in {slip.kind for slip in unread}
    honest = _found("361", MM, other_side_nm=361 * ONE_MM, other_side_expected=right)
    assert SlipKind.SIDES_SWAPPED not in {slip.kind for slip in honest}


def test_sides_in_each_others_box_show_when_a_repeat_reads_like_the_other_side() -> None:
    slip = _first("346", MM, earlier_nm=[331 * ONE_MM], other_side_nm=346 * ONE_MM)
    assert slip.kind is SlipKind.SIDES_SWAPPED
    assert "left and right swapped" in slip.question


def test_a_second_reading_that_agrees_settles_the_question() -> None:
    assert _found("345", MM)
    assert _found("345", MM, earlier_nm=[343 * ONE_MM]) == ()
    assert _found("345", MM, earlier_nm=[335 * ONE_MM])


def test_what_is_usual_for_the_batch_is_not_asked_about_on_every_piece() -> None:
    assert _found("345", MM)
    assert _found("345", MM, batch_shift_nm=12 * ONE_MM) == ()
    assert _found("660", MM, batch_shift_nm=12 * ONE_MM)[0].kind is SlipKind.FULL_FOR_HALF


def test_a_reading_nothing_explains_is_left_alone() -> None:
    assert _found("250", MM) == ()


@pytest.mark.parametrize("typed", ["217", "34.3 in", "55.9 in"])
def test_a_reading_nothing_explains_is_asked_about_when_it_is_very_far_off(typed: str) -> None:
    half = Expected(368_300_000, 361_000_000, 375_600_000)
    assert [slip.kind for slip in _found(typed, MM, half)] == [SlipKind.FAR_OFF]
    shown = _first(typed, MM, half, display=Display(MM)).question
    assert "very far off the 368.3 mm expected" in shown
    blind = _first(typed, MM, half, blind=True).question
    assert not any(sign.isdigit() for sign in blind.partition(". ")[2])
    assert _found(typed, MM, half, earlier_nm=[parse(typed, unit=MM).nm]) == (), "read twice, it is a fact"


def test_a_short_length_is_very_far_off_only_from_20_mm() -> None:
    short = Expected(40 * ONE_MM, 37 * ONE_MM, 43 * ONE_MM)
    assert _found("54", MM, short, kind="placement") == ()
    assert _first("72", MM, short, kind="placement").kind is SlipKind.FAR_OFF


def _repeat(typed: str, earlier_mm: Sequence[float], *, blind: bool = False) -> tuple[Slip, ...]:
    """A repeat at the half waist (nominal 305 mm, one person's repeats 1.5 mm apart)."""
    earlier_nm = [round(mm * ONE_MM) for mm in earlier_mm]
    spec = slip_bench.spec_in(MM)
    return slips.questions_for(
        reading=parse(typed, unit=MM),
        code="WA",
        side="L",
        size_label="24",
        plans_by_size=spec,
        taken={("WA", "L"): earlier_nm[-1]} if earlier_nm else {},
        earlier_nm=earlier_nm,
        blind=blind,
    )


def test_repeats_that_contradict_each_other_are_asked_about_within_the_limits_too() -> None:
    """Limit for one earlier reading: 2.576 x 1.5 mm x sqrt(2) = 5.46 mm."""
    assert _repeat("307", []) == ()
    assert _repeat("307", [302]) == ()
    (slip,) = _repeat("307", [301])
    assert slip.kind is SlipKind.REPEATS_DISAGREE
    assert "6 mm from what was read here before" in slip.question
    assert _repeat("307", [302, 302, 302])[0].kind is SlipKind.REPEATS_DISAGREE, "three are better known"
    blind = _repeat("307", [301], blind=True)[0].question
    assert not any(sign.isdigit() for sign in blind.partition(". ")[2])


def test_a_third_reading_that_sides_with_one_of_two_is_not_asked_about() -> None:
    assert _repeat("307", [301, 307]) == ()
    assert _repeat("304", [280, 296])[0].kind is SlipKind.REPEATS_DISAGREE, (
        "like neither, nor like their mean"
    )


@pytest.mark.parametrize("earlier", [1, 2, 3])
@pytest.mark.parametrize("another_person", [False, True])
def test_of_a_hundred_honest_repeats_about_one_is_asked_about(earlier: int, *, another_person: bool) -> None:
    error = ReadingError(1_500_000, 2_000_000)
    rng = np.random.default_rng(earlier)
    habits = rng.normal(0, error.person_sd_nm, (20_000, 2))
    before = rng.normal(0, error.repeat_sd_nm, (20_000, earlier)) + habits[:, :1]
    now = rng.normal(0, error.repeat_sd_nm, 20_000) + habits[:, 1 if another_person else 0]
    limit_nm = most_apart_nm(error, earlier=earlier, another_person=another_person)
    assert 0.0075 <= np.mean(np.abs(now - before.mean(axis=1)) > limit_nm) <= 0.0125
    asked = [
        disagrees(round(nm), [round(one) for one in others], error, another_person=another_person)
        for nm, others in zip(now, before, strict=True)
    ]
    assert 0.005 <= np.mean(asked) <= 0.0125, "now and then honest ones disagree first, and one agrees later"


def test_zero_is_plausible_where_zero_is_expected() -> None:
    gap = Expected(0, 0, 3 * ONE_MM)
    assert _found("0", MM, gap) == ()


@pytest.mark.parametrize(
    ("typed", "unit", "question"),
    [
        (
            "660",
            MM,
            "Typed 660 mm, but the half is specified at 330 mm. Is this the full girth, and the half 330 mm?",
        ),
        ("13", CM, "Typed 13 cm, but about 330 mm is expected. Was it 13 inches, so 330.2 mm?"),
        ("340 mm", CM, "Typed 340 mm, but 330 mm is expected. Look at the tens again: is it 330 mm?"),
        ("0", MM, "Typed 0 mm, but 330 mm is expected. Was this point read at all?"),
    ],
)
def test_the_question_is_plain_and_in_the_unit_of_the_shop(typed: str, unit: Unit, question: str) -> None:
    assert _first(typed, unit, display=Display(MM)).question == question


def test_a_shop_that_reads_fractions_is_asked_in_fractions() -> None:
    slip = _first("14 1/8", INCH, HALF_IN_INCHES, display=EIGHTHS)
    assert slip.question == (
        "Typed 14 1/8 in, an inch over the 13 in expected. Did the tape start at 1 inch, is it 13 1/8 in?"
    )
    assert "Look at the inches again" in _first("12", INCH, HALF_IN_INCHES, display=EIGHTHS).question


@pytest.mark.parametrize("kind", [*SlipKind])
def test_every_slip_has_a_question_that_fits_its_row(kind: SlipKind) -> None:
    """A stored question has 300 signs, a stored kind 24."""
    assert len(kind) <= 24
    if kind is not SlipKind.HEAPING:
        assert any(len(slip.question) <= 300 and slip.question.endswith("?") for slip in _one_of(kind))


def _one_of(kind: SlipKind) -> Sequence[Slip]:
    """Questions of one kind, from the bench or from the cases above."""
    if kind is SlipKind.NOTHING_READ:
        return _found("0", MM)
    if kind is SlipKind.FAR_OFF:
        return _found("217", MM)
    if kind is SlipKind.REPEATS_DISAGREE:
        return _repeat("307", [301])
    if kind is SlipKind.SIDES_SWAPPED:
        return [_first("346", MM, earlier_nm=[331 * ONE_MM], other_side_nm=346 * ONE_MM)]
    rng = random.Random(5)
    found: list[Slip] = []
    while not found:
        if made := slip_bench.slipped(rng, kind, WAYS[kind][0][0]):
            found = [slip for slip in _asked(*made) if slip.kind is kind]
    return found


@pytest.mark.parametrize(
    ("typed", "fraction"),
    [
        ("12.12", "12 1/2"),
        ("12.14", "12 1/4"),
        ("12.18", "12 1/8"),
        ("12.34", "12 3/4"),
        ("12.58", "12 5/8"),
        ("12.78", "12 7/8"),
        ("12,58 in", "12 5/8"),
        ("12.116", "12 1/16"),
        ("12.1316", "12 13/16"),
    ],
)
def test_the_digits_of_a_fraction_are_known_behind_a_point(typed: str, fraction: str) -> None:
    """Common practice, no source: decimals .12 .14 .18 .34 .38 .58 .78 in an inch column."""
    assert fraction_behind_decimals(parse(typed, unit=INCH)) == parse(fraction, unit=INCH).nm


@pytest.mark.parametrize("typed", ["12.38", "12.5", "12.25", "12.75", "12.63", "12.88", "12 5/8", "12"])
def test_honest_decimals_of_an_inch_are_left_alone(typed: str) -> None:
    assert fraction_behind_decimals(parse(typed, unit=INCH)) is None


def test_the_digits_of_a_fraction_mean_nothing_in_a_metric_figure() -> None:
    assert fraction_behind_decimals(parse("12.58", unit=CM)) is None


def test_a_plausible_figure_with_fraction_digits_is_asked_about_where_fractions_are_read() -> None:
    expected = Expected(320_675_000, 311_000_000, 330_000_000)
    asked = _found("12.58", INCH, expected, display=EIGHTHS)
    assert [(slip.kind, slip.suggestion_nm) for slip in asked] == [
        (SlipKind.FRACTION_AS_DECIMALS, 320_675_000)
    ]
    assert asked[0].question == "Typed 12.58 in. Did the tape show 12 5/8 in?"
    assert _found("12.58", INCH, expected, display=Display(INCH)) == ()
    eighth = Expected(307_975_000, 300_000_000, 315_000_000)
    assert _found("12.12", INCH, eighth, display=EIGHTHS) == (), "12 1/2 would be out: it is 12 1/8, rounded"


@pytest.mark.parametrize(
    ("typed", "unit", "lengths_mm"),
    [
        ("342", MM, [432, 324]),
        ("344", MM, [434]),
        ("333", MM, []),
        ("34.2 cm", MM, [432, 324]),
        ("10 1/2", INCH, [38.1]),
    ],
)
def test_neighbouring_digits_are_swapped_within_the_typed_text(
    typed: str, unit: Unit, lengths_mm: list[float]
) -> None:
    assert [nm / ONE_MM for nm in swapped_digits(parse(typed, unit=unit))] == lengths_mm


@given(
    nominal_mm=st.integers(50, 900),
    minus_mm=st.integers(0, 20),
    plus_mm=st.integers(0, 20),
    where=st.floats(0, 1),
    unit=st.sampled_from([MM, CM]),
    kind=st.sampled_from(["half", "full", "length", "placement"]),
    data=st.data(),
)
def test_a_reading_within_its_limits_raises_no_question(
    *,
    nominal_mm: int,
    minus_mm: int,
    plus_mm: int,
    where: float,
    unit: Unit,
    kind: PointKind,
    data: st.DataObject,
) -> None:
    lower, upper = (nominal_mm - minus_mm) * ONE_MM, (nominal_mm + plus_mm) * ONE_MM
    nm = round(lower + where * (upper - lower))
    anything = st.dictionaries(st.sampled_from("ABCDE"), st.just(Expected(nm, nm - ONE_MM, nm + ONE_MM)))
    found = slips.look_for_slips(
        parse(length.show_exact(nm, unit=unit), unit=unit),
        expected=Expected(nominal_mm * ONE_MM, lower, upper),
        kind=kind,
        neighbours=data.draw(anything),
        neighbour_sizes=data.draw(anything),
        size_votes={"A": 5},
        earlier_nm=[2 * nm],
        other_side_nm=data.draw(st.none() | st.integers(0, 2 * nm)),
        batch_shift_nm=data.draw(st.integers(-20 * ONE_MM, 20 * ONE_MM)),
    )
    assert found == ()


@given(
    sixteenths=st.integers(8 * 16, 18 * 16), nominal=st.integers(8 * 16, 18 * 16), width=st.integers(0, 12)
)
def test_an_inch_fraction_within_its_limits_raises_no_question(
    sixteenths: int, nominal: int, width: int
) -> None:
    expected = Expected(*(n * ONE_INCH // 16 for n in (nominal, nominal - width, nominal + width)))
    reading = parse(length.show(sixteenths * ONE_INCH // 16, Display(INCH, 16)), unit=INCH)
    found = slips.look_for_slips(reading, expected=expected, display=Display(INCH, 16))
    assert found == () or abs(sixteenths - nominal) > width


@given(reading=st.integers(1, 3_000), nominal=st.integers(30, 900), width=st.integers(1, 20))
def test_every_suggestion_would_fit_better_than_the_reading(reading: int, nominal: int, width: int) -> None:
    expected = Expected(*(mm * ONE_MM for mm in (nominal, nominal - width, nominal + width)))
    found = _found(f"{reading}", MM, expected)
    kinds = [slip.kind for slip in found]
    assert len(set(kinds)) == len(kinds), "each kind is asked about once"
    for slip in found:
        if slip.kind is SlipKind.FAR_OFF:
            assert len(found) == 1, "only when nothing explains it"
            assert abs(reading - nominal) > max(nominal / 4, 20)
            continue
        assert slip.suggestion_nm is not None
        assert abs(slip.suggestion_nm - nominal * ONE_MM) < abs(reading - nominal) * ONE_MM
        assert abs(slip.suggestion_nm - nominal * ONE_MM) <= 2 * width * ONE_MM


def _asked(at: Moment, reading: Parsed, *, batch_shift_nm: int = 0, blind: bool = False) -> tuple[Slip, ...]:
    return slips.questions_for(
        reading=reading,
        code=at.code,
        side=at.side,
        size_label=at.size,
        plans_by_size=at.spec,
        taken=at.taken,
        batch_shift_nm=batch_shift_nm,
        blind=blind,
        display=EIGHTHS if at.unit is INCH else None,
    )


# Of 700 slips of a kind those that leave the limits, and of these the share named first or second, as it was
# measured (2026-11-25, the same seeds) with a rule that asked about every reading beyond its limits. A rule
# that asks less must not find less. What is not in the table was found without exception.
FOUND_BY_ASKING_ALWAYS = {
    (SlipKind.INCH_FOR_MM, MM): 0.9985,
    (SlipKind.MM_FOR_INCH, INCH): 0.998,
    (SlipKind.START_MARK_INCH, MM): 0.9857,
    (SlipKind.START_MARK_INCH, CM): 0.979,
    (SlipKind.START_MARK_INCH, INCH): 0.9828,
    (SlipKind.TENS, MM): 0.956,
    (SlipKind.TENS, CM): 0.957,
    (SlipKind.TENS, INCH): 0.990,
    (SlipKind.SWAPPED_DIGITS, MM): 0.976,
    (SlipKind.SWAPPED_DIGITS, CM): 0.977,
    (SlipKind.SWAPPED_DIGITS, INCH): 0.995,
    (SlipKind.NEIGHBOUR_POINT, MM): 0.977,
    (SlipKind.NEIGHBOUR_POINT, CM): 0.978,
    (SlipKind.NEIGHBOUR_POINT, INCH): 0.995,
    (SlipKind.NEIGHBOUR_SIZE, MM): 0.966,
    (SlipKind.NEIGHBOUR_SIZE, CM): 0.976,
    (SlipKind.NEIGHBOUR_SIZE, INCH): 0.984,
}


@pytest.mark.parametrize(
    ("kind", "unit"), [(kind, unit) for kind, (units, _) in WAYS.items() for unit in units]
)
def test_of_the_slips_that_leave_the_limits_as_many_are_named_first_or_second_as_by_asking_always(
    kind: SlipKind, unit: Unit
) -> None:
    rng = random.Random(f"{kind} typed in {unit}")
    left_limits = named = 0
    for _ in range(700):
        made = slip_bench.slipped(rng, kind, unit)
        if made is None or slips.expected_of(made[0].plan).holds(made[1].nm):
            continue
        left_limits += 1
        named += kind in [slip.kind for slip in _asked(*made)[:2]]
    assert left_limits >= 75, "too few to say anything"
    assert named / left_limits >= FOUND_BY_ASKING_ALWAYS.get((kind, unit), 1.0)


@pytest.mark.parametrize("unit", [*Unit])
def test_of_a_hundred_honest_readings_at_most_three_are_asked_about(unit: Unit) -> None:
    """True lengths spread by 4 mm, also at points specified to 5 mm; asked are at most those beyond them."""
    rng = random.Random(f"honest in {unit}")
    asked, beyond = _asked_and_beyond([slip_bench.moment(rng, unit) for _ in range(6_000)])
    assert asked <= beyond
    assert asked <= 0.03
    assert beyond >= 0.02, "a bench without readings beyond the limits would prove nothing"


def _asked_and_beyond(moments: Sequence[Moment], *, batch_shift_nm: int = 0) -> tuple[float, float]:
    """The share of honest readings asked about, and of those beyond their limits."""
    asked = beyond = 0
    for at in moments:
        reading = parse(at.read(at.here_nm), unit=at.unit)
        asked += bool(_asked(at, reading, batch_shift_nm=batch_shift_nm))
        beyond += not slips.expected_of(at.plan).holds(reading.nm)
    return asked / len(moments), beyond / len(moments)


@pytest.mark.parametrize("shift_mm", [-8, 8])
def test_a_batch_that_is_off_all_over_is_not_asked_about_piece_by_piece(shift_mm: int) -> None:
    shift_nm = shift_mm * ONE_MM
    rng = random.Random(f"a batch off by {shift_mm} mm")
    moments = [slip_bench.moment(rng, MM, shift_nm=shift_nm) for _ in range(3_000)]
    asked, beyond = _asked_and_beyond(moments, batch_shift_nm=shift_nm)
    assert beyond >= 0.3
    assert asked <= 0.03
    assert _asked_and_beyond(moments)[0] >= 2 * asked, "the habit of the batch makes the difference"


@pytest.mark.parametrize("kind", [SlipKind.TENS, SlipKind.START_MARK_INCH, SlipKind.FULL_FOR_HALF])
def test_a_slip_in_a_batch_that_is_off_all_over_is_still_named(kind: SlipKind) -> None:
    shift_nm = -8 * ONE_MM
    rng = random.Random(f"{kind} in a small batch")
    telling = named = 0
    for _ in range(400):
        made = slip_bench.slipped(rng, kind, MM, shift_nm=shift_nm)
        if made is None:
            continue
        expected, nm = slips.expected_of(made[0].plan), made[1].nm
        if expected.holds(nm) or expected.holds(nm - shift_nm):
            continue
        telling += 1
        named += kind in [slip.kind for slip in _asked(*made, batch_shift_nm=shift_nm)[:2]]
    assert telling >= 100
    assert named / telling >= 0.95


def test_a_batch_off_by_more_than_a_habit_is_asked_about_all_the_same() -> None:
    """Every piece an inch over: the tape starts at 1 inch, or the batch is of another size."""
    assert _first("355.4", MM, batch_shift_nm=ONE_INCH).kind is SlipKind.START_MARK_INCH


def test_what_the_other_side_confirms_is_no_slip_of_one_reading() -> None:
    assert _first("341", MM).kind is SlipKind.TENS
    assert _found("341", MM, other_side_nm=342 * ONE_MM) == ()
    assert _first("341", MM, other_side_nm=331 * ONE_MM).kind is SlipKind.TENS


def test_the_other_side_confirms_nothing_when_it_may_hold_the_same_slip() -> None:
    assert _first("660", MM, other_side_nm=660 * ONE_MM).kind is SlipKind.FULL_FOR_HALF


def test_what_the_other_side_confirms_may_still_be_another_size() -> None:
    sizes = {"24": Expected(343 * ONE_MM, 334 * ONE_MM, 352 * ONE_MM)}
    found = _found("343", MM, neighbour_sizes=sizes, size_votes={"24": 2}, other_side_nm=343 * ONE_MM)
    assert [slip.kind for slip in found] == [SlipKind.NEIGHBOUR_SIZE]


@pytest.mark.parametrize("kind", [*WAYS])
def test_a_blind_question_tells_no_figure_but_the_typed_one(kind: SlipKind) -> None:
    rng = random.Random(f"{kind} asked blind")
    seen = 0
    for _ in range(60):
        made = slip_bench.slipped(rng, kind, WAYS[kind][0][0])
        if made is None:
            continue
        for slip in _asked(*made, blind=True):
            reading, typed = made[1], made[1].typed.strip()
            words = slip.question.removeprefix(f"Typed {typed} {reading.unit}")
            assert words != slip.question
            own_figure = length.show_exact(reading.nm, unit=reading.unit).rpartition(" ")[0]
            allowed = {
                "1 inch mark",
                "10 cm mark",
                f"{own_figure} ",
                *(f"size {size}" for size in made[0].spec),
            }
            if slip.kind is SlipKind.FRACTION_AS_DECIMALS and slip.suggestion_nm is not None:
                allowed.add(length.show(slip.suggestion_nm, EIGHTHS))  # read off the typed text alone
            for part in allowed:
                words = words.replace(part, "")
            assert not any(sign.isdigit() for sign in words), slip.question
            assert words.endswith("?")
            seen += 1
    assert seen >= 10


def test_the_size_of_a_piece_and_its_point_must_be_in_the_spec() -> None:
    at = slip_bench.moment(random.Random(1), MM)
    reading = parse("330", unit=MM)
    with pytest.raises(ImpossibleInput, match=r"^Size is '99', which the spec does not have. It has: 18, 20"):
        slips.questions_for(
            reading=reading, code="UB", side="L", size_label="99", plans_by_size=at.spec, taken={}
        )
    with pytest.raises(ImpossibleInput, match=r"^Point is 'XX', which the spec does not have"):
        slips.questions_for(
            reading=reading, code="XX", side="L", size_label="22", plans_by_size=at.spec, taken={}
        )


def test_a_single_point_has_no_other_side_to_be_swapped_with() -> None:
    spec = slip_bench.spec_in(MM)
    found = slips.questions_for(
        reading=parse("6", unit=MM), code="TH", side="S", size_label="22", plans_by_size=spec, taken={}
    )
    assert SlipKind.SIDES_SWAPPED not in {slip.kind for slip in found}


def test_an_expectation_outside_its_own_limits_is_refused() -> None:
    with pytest.raises(
        ImpossibleInput, match=r"^Expected reading is 330 mm, not within its limits 331 mm to"
    ):
        Expected(330 * ONE_MM, 331 * ONE_MM, 339 * ONE_MM)


def _batch(rng: random.Random, nominal_mm: float, spread_mm: float, readings: int) -> list[int]:
    return [round(rng.gauss(nominal_mm, spread_mm)) * ONE_MM for _ in range(readings)]


def _to_fives(values_nm: list[int], every: int) -> list[int]:
    fives = 5 * ONE_MM
    return [round(v / fives) * fives if place % every == 0 else v for place, v in enumerate(values_nm)]


def test_a_batch_rounded_to_fives_is_seen() -> None:
    values = _to_fives(_batch(random.Random(7), 331, 4, 120), every=2)
    found = slips.heaping(values, nominals_nm=[331 * ONE_MM] * 120, unit=MM)
    assert found.slip is not None
    assert found.slip.kind is SlipKind.HEAPING
    assert f"{found.round_count} of 120 readings end in 0 or 5 mm; about 24 would" in found.slip.question


def test_a_batch_pulled_to_the_nominal_is_seen() -> None:
    values = _batch(random.Random(8), 331, 4, 120)
    values[::3] = [331 * ONE_MM] * 40
    found = slips.heaping(values, nominals_nm=[331 * ONE_MM] * 120, unit=MM)
    assert found.slip is not None
    assert "are exactly the nominal" in found.slip.question
    assert found.exact_chance < found.round_chance


def test_a_batch_in_whole_inches_is_seen() -> None:
    rng = random.Random(9)
    values = [round(rng.gauss(13, 0.16) * 2) * ONE_INCH // 2 for _ in range(60)]
    found = slips.heaping(values, nominals_nm=[13 * ONE_INCH + ONE_INCH // 8] * 60, unit=INCH)
    assert found.slip is not None
    assert "whole or half inches" in found.slip.question


@pytest.mark.parametrize("spread_mm", [0.7, 1, 2, 4, 8])
@pytest.mark.parametrize("nominal_mm", [330, 332, 327.4])
def test_honest_batches_are_almost_never_said_to_heap(nominal_mm: float, spread_mm: float) -> None:
    """Also a tight point at a round nominal, which honestly reads 330 again and again."""
    rng = random.Random(f"{nominal_mm} ± {spread_mm}")
    nominals = [round(nominal_mm * ONE_MM)] * 80
    batches = [_batch(rng, nominal_mm, spread_mm, 80) for _ in range(200)]
    found = [slips.heaping(values, nominals_nm=nominals, unit=MM) for values in batches]
    assert sum(heap.slip is not None for heap in found) <= 2


@pytest.mark.parametrize("seed", range(10))
def test_a_few_wild_figures_make_no_heap_of_honest_ones(seed: int) -> None:
    """Read to half a millimetre with a spread of 1.3 mm, about 15 in 100 hit the nominal."""
    rng = random.Random(seed)
    values = [round(rng.gauss(331, 1.3) * 2) * ONE_MM // 2 for _ in range(700)]
    values += [13 * ONE_MM] * 6 + [662 * ONE_MM] * 9
    found = slips.heaping(values, nominals_nm=[331 * ONE_MM] * len(values), unit=MM)
    assert found.slip is None
    assert found.exact_expected > 100


@pytest.mark.parametrize("pulled", [0.3, 0.5, 0.7, 0.9])
def test_wild_figures_hide_no_readings_that_were_pulled_to_the_nominal(pulled: float) -> None:
    rng = random.Random(11)
    values = [331 * ONE_MM if rng.random() < pulled else v for v in _batch(rng, 331, 4, 600)]
    found = slips.heaping([*values, 13 * ONE_MM], nominals_nm=[331 * ONE_MM] * 601, unit=MM)
    assert found.slip is not None
    assert "are exactly the nominal" in found.slip.question


def test_too_few_readings_say_nothing() -> None:
    assert slips.heaping([330 * ONE_MM] * 19, nominals_nm=[332 * ONE_MM] * 19, unit=MM).slip is None
    assert slips.heaping([330 * ONE_MM] * 20, nominals_nm=[332 * ONE_MM] * 20, unit=MM).slip is not None
    empty = slips.heaping([], nominals_nm=[], unit=MM)
    assert (empty.readings, empty.round_count, empty.round_chance, empty.slip) == (0, 0, 1.0, None)


@given(
    mean_mm=st.floats(300, 340), spread_mm=st.floats(1, 12), count=st.integers(20, 300), seed=st.integers()
)
def test_the_chance_of_a_heap_is_the_binomial_one(
    mean_mm: float, spread_mm: float, count: int, seed: int
) -> None:
    """Second road: scipy's binomial and normal distributions."""
    values = _batch(random.Random(seed), mean_mm, spread_mm, count)
    found = slips.heaping(values, nominals_nm=[330 * ONE_MM] * count, unit=MM)
    deviations_mm = [v / ONE_MM - 330 for v in values]
    mean, spread = 330 + sum(deviations_mm) / count, max(stats.tstd(deviations_mm), 0.5)
    marks = np.arange(0, 1_000, 5)
    share = float(
        np.sum(stats.norm.cdf(marks + 0.5, mean, spread) - stats.norm.cdf(marks - 0.5, mean, spread))
    )
    assert found.round_expected == pytest.approx(count * share, rel=1e-9)
    chance = stats.binom.sf(found.round_count - 1, count, share)
    assert found.round_chance == pytest.approx(chance, rel=1e-6)
    middle = stats.trimboth(np.sort(deviations_mm), 0.05)
    width = middle[-1] - middle[0] - 1
    of_the_middle = max(width / (stats.norm.ppf(0.95) - stats.norm.ppf(0.05)), 0.5)
    exact = max(
        stats.norm.cdf(0.5, at, wide) - stats.norm.cdf(-0.5, at, wide)
        for at, wide in ((mean - 330, spread), (np.median(deviations_mm), of_the_middle))
    )
    assert found.exact_expected == pytest.approx(count * exact, rel=1e-9)


@pytest.mark.parametrize("fives", [0, 300, 3_000])
def test_the_chance_stays_the_binomial_one_in_a_large_import(fives: int) -> None:
    """Two hundred thousand readings, some more of them ending in 0 or 5 than by chance; again by scipy."""
    values = _batch(random.Random(fives), 331, 4, 200_000)
    values[:fives] = [330 * ONE_MM] * fives
    found = slips.heaping(values, nominals_nm=[331 * ONE_MM] * len(values), unit=MM)
    for count, expected, chance in (
        (found.round_count, found.round_expected, found.round_chance),
        (found.exact_count, found.exact_expected, found.exact_chance),
    ):
        exactly = stats.binom.sf(count - 1, len(values), expected / len(values))
        assert chance == pytest.approx(exactly, rel=1e-6, abs=1e-300)


def test_each_reading_needs_its_nominal() -> None:
    with pytest.raises(ImpossibleInput, match=r"^Batch is 2 readings beside 1 nominals"):
        slips.heaping([1, 2], nominals_nm=[1], unit=MM)
    with pytest.raises(ImpossibleInput, match=r"^Reading step is 1/7 in"):
        slips.heaping([1], nominals_nm=[1], unit=INCH, denominator=7)


def test_the_bench_itself_spreads_its_pieces_as_it_says() -> None:
    rng = random.Random(3)
    moments = [slip_bench.moment(rng, MM) for _ in range(2_000)]
    deviations = [at.here_nm - at.plan.nominal_nm for at in moments]
    assert stats.tstd(deviations) == pytest.approx(SPREAD_NM, rel=0.06)
    apart = [at.true_nm["WA", "L"] - at.true_nm["WA", "R"] for at in moments]
    assert stats.tstd(apart) == pytest.approx(PAIR_SPREAD_NM, rel=0.06)
