"""Whether the stated risks hold: 100,000 simulated pieces at a time, judged by what judges real ones.

The claim rule calls out what is outside by more than 2·u: at a limit at most 2.3 % are called out that are
in. The 5 % rule does the same for in and out alike. Both promise this for a piece just at its limit, the
worst there is, at one look. "Measure again until it is clear" is more than one look: over all pieces of a
maker the shares stay well below, but for pieces just at the limit they do not, and the tests say by how much.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from decimal import Decimal

import numpy as np
import numpy.typing as npt
import pytest

from inventory.calc import risk, uncertainty
from inventory.calc.conformity import DEFAULT_CLAIM, IN_CODE, OUT_CODE, Rule, guard_factor
from inventory.calc.judging import judge_many
from inventory.calc.plan import PointPlan
from inventory.calc.uncertainty import ReadingError
from tests.calc.plans import MM, half, length

PIECES = 100_000
SHELF = Rule.by_risk("five", 1, "shelf", risk=Decimal("0.05"), at_the_end="stays_close")
CLAIMED, ACCEPTED = DEFAULT_CLAIM.risk_at_the_limit, 0.05

Floats = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Bench:
    """A point, the true deviations of its sides (mm, pieces by sides), and which sides get read."""

    plan: PointPlan
    true_mm: Floats
    read: tuple[bool, ...]
    seed: int

    @property
    def good(self) -> Flags:
        """Pieces that truly meet what is judged: the full girth, or the side."""
        plan, sums = self.plan, self.true_mm.sum(axis=1)
        if plan.judged_as_full:
            minus, plus = (plan.minus_nm / MM, plan.plus_nm / MM)
            full = sums if plan.paired else 2 * sums
            return np.asarray((full >= -minus) & (full <= plus))
        inside = (self.true_mm >= -plan.minus_nm / MM) & (self.true_mm <= plan.plus_nm / MM)
        return np.asarray(inside.all(axis=1))

    def readings(self) -> Floats:
        """Four rounds (rounds, pieces, sides), each piece by one person of its own, drawn at random."""
        rng = np.random.default_rng(self.seed)
        error = self.plan.error
        habit = rng.normal(0, error.person_sd_nm / MM, (1, PIECES, 1))
        fixed = rng.normal(0, error.fixed_sd_nm / MM, (1, PIECES, 1))
        rounds = rng.normal(0, error.repeat_sd_nm / MM, (4, *self.true_mm.shape))
        return np.asarray(self.true_mm + habit + fixed + rounds)

    def judged(self, *, looks: int, shelf: Rule = SHELF, claim: Rule = DEFAULT_CLAIM) -> tuple[float, float]:
        """Shares of all pieces wrongly accepted and wrongly claimed, each measured until it is clear."""
        read = self.readings()
        nominal = self.plan.nominal_nm
        ended = {"shelf": np.full(PIECES, -1), "claim": np.full(PIECES, -1)}
        present = np.broadcast_to(np.array(self.read), (PIECES, len(self.read)))
        for look in range(1, looks + 1):
            means = np.rint(read[:look].mean(axis=0) * MM).astype(np.int64) + nominal
            found = judge_many(
                [self.plan],
                means,
                present,
                shelf=shelf,
                claim=claim,
                readings=look,
                one_half_will_do=(self.plan.code,),
            )
            for name, codes in (("shelf", found.shelf), ("claim", found.claim)):
                open_ = (ended[name] != IN_CODE) & (ended[name] != OUT_CODE)
                ended[name][open_] = codes[open_]
        good = self.good
        return (
            float((ended["shelf"][~good] == IN_CODE).sum() / PIECES),
            float((ended["claim"][good] == OUT_CODE).sum() / PIECES),
        )


ERRORS = {
    "repeats only": ReadingError(1_500_000, 0),
    "with a person": ReadingError(1_500_000, MM),
    "mostly the person": ReadingError(MM // 2, 2 * MM),
}


def sides_of(
    plan: PointPlan, error: ReadingError, read: tuple[bool, ...]
) -> tuple[PointPlan, tuple[bool, ...]]:
    return replace(plan, error=error), read


POINTS: dict[str, Callable[[ReadingError], tuple[PointPlan, tuple[bool, ...]]]] = {
    "a length": lambda error: sides_of(length(), error, (True,)),
    "unequal tolerance": lambda error: sides_of(length(minus_nm=3 * MM, plus_nm=8 * MM), error, (True,)),
    "two halves for the full girth": lambda error: sides_of(
        half(basis="full", tolerance_nm=12 * MM), error, (True, True)
    ),
    "a closed half": lambda error: sides_of(
        half(basis="full", tolerance_nm=12 * MM, paired=False), error, (True,)
    ),
}
points = pytest.mark.parametrize("point", POINTS)
errors = pytest.mark.parametrize("error", ERRORS)


def noise(seed: int) -> Floats:
    return np.random.default_rng(seed + 1).standard_normal((PIECES, 2))


def four_standard_errors(share: float) -> float:
    return 4 * math.sqrt(share * (1 - share) / PIECES)


MAKERS = {"on the nominal": (0.0, 2.5), "towards a limit": (3.0, 2.5), "at a limit": (5.0, 1.5)}


@points
@errors
@pytest.mark.parametrize("maker", MAKERS)
def test_over_all_pieces_of_a_maker_the_stated_risks_hold_with_up_to_four_looks(
    point: str, error: str, maker: str
) -> None:
    plan, read = POINTS[point](ERRORS[error])
    shift, sd = MAKERS[maker]
    bench = Bench(plan, shift + sd * noise(1)[:, : len(read)], read, seed=41)
    wrongly_in, wrongly_claimed = bench.judged(looks=4)
    assert wrongly_in <= ACCEPTED
    assert wrongly_claimed <= CLAIMED


def at_the_limit(plan: PointPlan, read: tuple[bool, ...], *, outside: bool) -> Floats:
    """Every piece a nanometre inside its upper limit, or outside it; two halves share it out evenly."""
    edge_mm = plan.plus_nm / MM + (1e-6 if outside else 0)
    if plan.judged_as_full:
        edge_mm /= 2
    return np.full((PIECES, len(read)), edge_mm)


@points
@errors
def test_just_at_the_limit_one_look_keeps_the_stated_risks(point: str, error: str) -> None:
    plan, read = POINTS[point](ERRORS[error])
    good = Bench(plan, at_the_limit(plan, read, outside=False), read, seed=42)
    bad = Bench(plan, at_the_limit(plan, read, outside=True), read, seed=43)
    assert good.good.all()
    assert not bad.good.any()
    _, wrongly_claimed = good.judged(looks=1)
    wrongly_in, _ = bad.judged(looks=1)
    assert wrongly_claimed <= CLAIMED + four_standard_errors(CLAIMED)
    assert wrongly_in <= ACCEPTED + four_standard_errors(ACCEPTED)
    # The worst case is met, not undercut: else the guard band would be wider than stated.
    assert wrongly_claimed >= CLAIMED - four_standard_errors(CLAIMED)


@errors
def test_one_half_read_keeps_the_stated_risks_at_one_look(error: str) -> None:
    """The half not read lies anywhere within the left-right limit of the other; the full girth is judged."""
    plan = replace(half(basis="full", tolerance_nm=30 * MM), error=ERRORS[error])
    apart = np.random.default_rng(8).uniform(-1, 1, PIECES) * plan.unseen_pair_limit_nm / MM
    # Just at the limit of the full girth, whatever the two halves are.
    left = (plan.plus_nm / MM - apart) / 2
    inside = Bench(plan, np.column_stack((left, plan.plus_nm / MM - 1e-9 - left)), (True, False), seed=44)
    assert inside.good.mean() == 1
    _, wrongly_claimed = inside.judged(looks=1)
    assert wrongly_claimed <= CLAIMED + four_standard_errors(CLAIMED)


@pytest.mark.parametrize(
    ("error", "person_share"), [("repeats only", 0.0), ("with a person", 2 / 3), ("mostly the person", 4.0)]
)
def test_measuring_again_until_clear_takes_more_than_the_stated_risk_just_at_the_limit(
    error: str, person_share: float
) -> None:
    """5.8 % in place of 2.3 % for repeats only, 4.9 and 2.9 % as a habit counts more: as worked out."""
    plan, read = POINTS["a length"](ERRORS[error])
    wide = replace(plan, minus_nm=100 * MM)
    bench = Bench(wide, at_the_limit(wide, read, outside=False), read, seed=45)
    _, wrongly_claimed = bench.judged(looks=4)
    worked_out = risk.risk_of_looking_again(2.0, looks=4, person_share=person_share)
    assert abs(wrongly_claimed - worked_out) <= four_standard_errors(worked_out)
    assert wrongly_claimed > CLAIMED


@errors
def test_a_guard_band_made_for_four_looks_keeps_the_stated_risk_over_all_of_them(error: str) -> None:
    """The remedy: 2.4·u in place of 2·u. The worst, repeats only, is met; a person's habit leaves room."""
    four_looks = Decimal(risk.multiplier_for_looks(CLAIMED, looks=4)).quantize(Decimal("0.001"))
    plan, read = POINTS["a length"](ERRORS[error])
    wide = replace(plan, minus_nm=100 * MM)
    bench = Bench(wide, at_the_limit(wide, read, outside=False), read, seed=46)
    _, wrongly_claimed = bench.judged(looks=4, claim=replace(DEFAULT_CLAIM, multiplier=four_looks))
    assert four_looks == Decimal("2.399")
    assert wrongly_claimed <= CLAIMED + four_standard_errors(CLAIMED)


@pytest.mark.parametrize("dof", [3, 9, 30])
def test_a_small_study_keeps_the_stated_risk_by_students_t_and_would_not_without(dof: int) -> None:
    """100,000 shops, each with an SD from a study of its own and one piece just at the limit."""
    rng = np.random.default_rng(dof)
    from_study = np.sqrt(rng.chisquare(dof, PIECES) / dof)
    off = rng.standard_normal(PIECES)
    by_t, by_bell = (
        float((off > float(guard_factor(SHELF, dof=known)) * from_study).mean()) for known in (dof, None)
    )
    assert abs(by_t - ACCEPTED) <= four_standard_errors(ACCEPTED) + 0.0002
    assert by_bell > by_t + 0.003


def test_three_readings_by_one_and_one_by_another_are_less_sure_than_reckoned() -> None:
    """The mean of all readings weighs by reading; the person part is reckoned as if people had read equally.

    Known shortfall: with 3 + 1 readings the person part is 0.79 of one person's, not 0.71.
    """
    rng = np.random.default_rng(12)
    error = ReadingError(MM, 2 * MM)
    habits = 2.0 * rng.standard_normal((PIECES, 2))
    mean = (3 * habits[:, 0] + habits[:, 1]) / 4 + rng.standard_normal((PIECES, 4)).mean(axis=1)
    reckoned = uncertainty.of_mean(error, readings=4, people=2) / MM
    assert abs(mean.std() - (1 / 4 + 4 * 10 / 16) ** 0.5) < 0.02
    assert mean.std() / reckoned == pytest.approx(1.106, abs=0.01)
