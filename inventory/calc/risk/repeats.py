"""Too close to call: how many more readings would settle it, by whom, and how likely they do.

More readings by the same hands shrink the repeat part only; another person's also shrink the person part;
what is in every reading alike (tape, level, state of the cloth) nobody shrinks. The mean will also move. Let
m be the mean now and θ the true length. Given both, the mean of k more readings is N(θ + ρ(m − θ), …), where
ρ is the share of the square of u that the new readings have in common with the old ones. So the new mean, the
chance that it clears the guard band, and the chance that the plain comparison is then wrong follow from one
bell curve for θ and one straight line.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from inventory.calc import uncertainty
from inventory.calc.conformity import Limits, Rule, Verdict, decide, guard_nm
from inventory.calc.risk.quadrature import Floats, between, density, integral, turning
from inventory.calc.risk.reading import Belief, MakerSpread, belief, percent, probabilities_in
from inventory.calc.uncertainty import ReadingError

MOST_LOOKED = 100
"""Further readings past which nobody would go, whatever they settle."""


class TakenAs(StrEnum):
    """What is asked about: one side as read, left plus right, twice one closed half, left minus right."""

    SIDE = "side"
    SUM = "sum"
    TWICE = "twice"
    DIFFERENCE = "difference"


def round_error(error: ReadingError, taken_as: TakenAs) -> ReadingError:
    """What one round of reading adds to the value asked about, as if it were one reading of it.

    >>> round_error(ReadingError(1_000_000, 500_000), TakenAs.SUM) == ReadingError(1_414_214, 1_000_000)
    True

    The placing is new with each side, so it adds up by squares in a sum and stays in a difference.
    """
    repeat, habit = {
        TakenAs.SIDE: (1.0, 1),
        TakenAs.SUM: (math.sqrt(2), 2),
        TakenAs.TWICE: (2.0, 2),
        TakenAs.DIFFERENCE: (math.sqrt(2), 0),
    }[taken_as]
    placing_nm = math.ceil(error.placing_sd_nm * repeat)  # as a repeat: each side has its own
    own_nm2 = (error.person_sd_nm**2 - error.placing_sd_nm**2) * habit**2
    return ReadingError(
        math.ceil(error.repeat_sd_nm * repeat),
        max(placing_nm, math.ceil(math.sqrt(own_nm2 + (error.placing_sd_nm * repeat) ** 2))),
        error.fixed_sd_nm * habit,
        repeat_dof=error.repeat_dof,
        person_dof=error.person_dof,
        placing_sd_nm=placing_nm,
    )


@dataclass(frozen=True, slots=True)
class Chance:
    """What ``more`` readings, by the same hands or by one other person, would do (chances 0 to 1).

    ``changes``: the mean lands on the other side of a limit. ``wrong``: deciding plainly by the new mean is
    wrong.
    """

    more: int
    another_person: bool
    settles_in: float
    settles_out: float
    changes: float
    wrong: float

    @property
    def settles(self) -> float:
        """That the verdict is then clear, either way."""
        return self.settles_in + self.settles_out


@dataclass(frozen=True, slots=True)
class Outlook:
    """What repeats would do for a value.

    ``same_person`` and ``another_person``: further readings after which the verdict is clear if the mean
    stays where it is (0: it is clear now; None: never, or not within 100). ``left``: readings the rule still
    allows. ``wrong_now``: chance that deciding plainly by the mean now is wrong.
    """

    verdict: Verdict
    same_person: int | None
    another_person: int | None
    left: int
    wrong_now: float
    chances: tuple[Chance, ...]

    @property
    def sentence(self) -> str:
        """In words for the bench."""
        if self.verdict is not Verdict.CLOSE:
            return "This is clear: no further reading is needed."
        if not self.left:
            return "The rule allows no further reading."
        best = max(self.chances, key=lambda chance: (round(chance.settles, 3), -chance.more))
        whose = "another person" if best.another_person else "the same person"
        readings = "1 more reading" if best.more == 1 else f"{best.more} more readings"
        likely = f"{readings} by {whose} would settle it with a chance of {percent(best.settles)}."
        return f"{self._if_it_stays} {likely}"

    @property
    def _if_it_stays(self) -> str:
        same, other = (
            more if more is not None and more <= self.left else None
            for more in (self.same_person, self.another_person)
        )
        if same is not None:
            return f"If the mean stays, {same} more by the same person will do."
        if other is not None:
            return (
                f"The same person cannot settle it; if the mean stays, {other} more by another person will."
            )
        return "If the mean stays, no reading the rule still allows settles it: it is too near the limit."


def outlook(
    mean_nm: int,
    limits: Limits,
    *,
    error: ReadingError,
    readings: int,
    people: int = 1,
    rule: Rule,
    maker: MakerSpread | None = None,
) -> Outlook:
    """Look ahead from the mean of ``readings`` readings by ``people`` persons.

    ``error`` is that of one round of the value asked about: see `round_error`. The chances take the standard
    deviations as known; the guard band takes their degrees of freedom along. Raises ImpossibleInput for
    impossible counts.

    >>> from inventory.calc.conformity import DEFAULT_SHELF
    >>> found = outlook(333_500_000, Limits(324_000_000, 336_000_000), error=ReadingError(2_000_000, 0),
    ...                 readings=1, rule=DEFAULT_SHELF)
    >>> found.same_person, found.left, [round(chance.settles, 2) for chance in found.chances[::2]]
    (1, 3, [0.55, 0.65, 0.7])
    """
    sure = uncertainty.mean(error, readings=readings, people=people)
    verdict = decide(mean_nm, limits, u_nm=sure.u_nm, rule=rule, dof=sure.dof).verdict
    left = max(0, rule.max_repeats - readings)
    now = _Now(mean_nm, limits, error, readings, people, rule, belief(mean_nm, u_nm=sure.u_nm, maker=maker))
    is_in = limits.lower_nm <= mean_nm <= limits.upper_nm
    inside = probabilities_in(
        np.array([mean_nm]), limits.lower_nm, limits.upper_nm, u_nm=sure.u_nm, maker=maker
    ).item()
    close = verdict is Verdict.CLOSE
    return Outlook(
        verdict=verdict,
        same_person=now.needed(another_person=False),
        another_person=now.needed(another_person=True),
        left=left,
        wrong_now=1 - inside if is_in else inside,
        chances=tuple(
            now.chance(more, another_person=other)
            for more in range(1, left + 1 if close else 1)
            for other in (False, True)
        ),
    )


@dataclass(frozen=True, slots=True)
class _Now:
    """Where we stand."""

    mean_nm: int
    limits: Limits
    error: ReadingError
    readings: int
    people: int
    rule: Rule
    believed: Belief

    def needed(self, *, another_person: bool) -> int | None:
        # With known standard deviations the guard band only shrinks: what 100 leave open, fewer do too. With
        # few degrees of freedom it may widen again, as the person part comes to count for more.
        known = self._sure(MOST_LOOKED, another_person=another_person).dof is None
        if known and not self._clear(MOST_LOOKED, another_person=another_person):
            return None
        tries = range(MOST_LOOKED + 1)
        return next((more for more in tries if self._clear(more, another_person=another_person)), None)

    def _clear(self, more: int, *, another_person: bool) -> bool:
        """Whether the verdict would be clear if the mean stayed."""
        sure = self._sure(more, another_person=another_person)
        found = decide(self.mean_nm, self.limits, u_nm=sure.u_nm, rule=self.rule, dof=sure.dof)
        return found.verdict is not Verdict.CLOSE

    def chance(self, more: int, *, another_person: bool) -> Chance:
        sure = self._sure(more, another_person=another_person)
        guard = guard_nm(sure.u_nm, self.rule, dof=sure.dof)
        start, slope, sd = self._line(more, another_person=another_person)
        middle = start + slope * self.believed.mean_nm
        spread = max(math.hypot(slope * self.believed.sd_nm, sd), 1e-6)
        lower, upper = self.limits.lower_nm, self.limits.upper_nm

        def lands(low: float, high: float) -> float:
            return float(between((low - middle) / spread, (high - middle) / spread))

        inside = lands(lower, upper)
        is_in = lower <= self.mean_nm <= upper
        return Chance(
            more=more,
            another_person=another_person,
            settles_in=lands(lower + guard, upper - guard),
            settles_out=lands(-math.inf, lower - guard) + lands(upper + guard, math.inf),
            changes=1 - inside if is_in else inside,
            wrong=self._wrong(start, slope, max(sd, 1e-6)),
        )

    def _sure(self, more: int, *, another_person: bool) -> uncertainty.Combined:
        people = self.people + (another_person and more > 0)
        return uncertainty.mean(self.error, readings=self.readings + more, people=people)

    def _line(self, more: int, *, another_person: bool) -> tuple[float, float, float]:
        """The new mean given the true length θ: start + slope·θ, and its SD."""
        repeat, person, fixed = (
            sd**2 for sd in (self.error.repeat_sd_nm, self.error.person_sd_nm, self.error.fixed_sd_nm)
        )
        shared = fixed if another_person else fixed + person / self.people
        fresh = (person if another_person else 0.0) + repeat / more
        square = repeat / self.readings + person / self.people + fixed
        common = shared / square if square else 0.0
        weight = more / (self.readings + more)
        start = (1 - weight + weight * common) * self.mean_nm
        return start, weight * (1 - common), weight * math.sqrt(shared * (1 - common) + fresh)

    def _wrong(self, start: float, slope: float, sd: float) -> float:
        lower, upper = float(self.limits.lower_nm), float(self.limits.upper_nm)
        middle, spread = self.believed.mean_nm, self.believed.sd_nm
        if spread == 0:
            return 0.0

        def says_in(x: Floats) -> Floats:
            place = start + slope * x
            return between((lower - place) / sd, (upper - place) / sd)

        edges = list(turning(middle, spread))
        if slope > 0:
            for limit in (lower, upper):
                edges.extend(turning((limit - start) / slope, sd / slope))
        far = (middle - 9 * spread, middle + 9 * spread)
        inside = (max(lower, far[0]), min(upper, far[1]))
        missed = integral(lambda x: density(x, middle, spread) * (1 - says_in(x)), *inside, edges)
        passed = sum(
            integral(lambda x: density(x, middle, spread) * says_in(x), low, high, edges)
            for low, high in ((far[0], min(lower, far[1])), (max(upper, far[0]), far[1]))
        )
        return missed + passed
