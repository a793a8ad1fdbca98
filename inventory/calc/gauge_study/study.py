"""The result of a study of one point, as it is shown and kept."""

import math
from dataclasses import dataclass

from inventory.calc.gauge_study.anova import Anova
from inventory.calc.gauge_study.readings import Table
from inventory.calc.uncertainty import ReadingError


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the spread: variance as estimated and as used (nm²), SD (nm) with limits, and its shares.

    `percent_of_total` is of SDs and does not add up; `percent_of_variance` does. `percent_of_tolerance` is
    six SDs against the whole width of the tolerance. `dof` is None where the part came out as none.
    """

    name: str
    estimated_nm2: float
    used_nm2: float
    low_nm: float
    high_nm: float
    dof: float | None
    percent_of_total: float | None
    percent_of_variance: float | None
    percent_of_tolerance: float | None
    words: str

    @property
    def sd_nm(self) -> float:
        """The SD as used (nm)."""
        return math.sqrt(self.used_nm2)


@dataclass(frozen=True, slots=True)
class PersonMean:
    """A person's mean, and how far she reads above the mean of all (nm) with confidence limits."""

    person: str
    mean_nm: float
    bias_nm: float
    low_nm: float
    high_nm: float

    @property
    def differs(self) -> bool:
        """Whether the limits leave out zero."""
        return self.low_nm > 0 or self.high_nm < 0


@dataclass(frozen=True, slots=True)
class Dot:
    """One reading for the picture: where it belongs, its value, and how far off the piece's mean (nm)."""

    piece: str
    person: str
    round: int
    value_nm: int
    off_nm: float


@dataclass(frozen=True, slots=True)
class Study:
    """A study of one point. `interaction` is None when pooled; `groups` is the number of distinct categories.

    `tem_nm` is the technical error of measurement (the SD of one person's repeats, nothing pooled),
    `icc` the share of the variance that lies in the pieces. Both ratios are None when nothing differs.
    `error` is what verdicts are judged with from now on.
    """

    table: Table
    anova: Anova
    repeatability: Part
    person: Part
    interaction: Part | None
    reproducibility: Part
    measuring: Part
    piece: Part
    total: Part
    groups: int | None
    groups_unrounded: float | None
    tem_nm: float
    relative_tem_percent: float | None
    icc: float | None
    people: tuple[PersonMean, ...]
    dots: tuple[Dot, ...]
    error: ReadingError
    confidence: float
    notes: tuple[str, ...]

    @property
    def parts(self) -> tuple[Part, ...]:
        """The parts in the order they are shown."""
        middle = (self.person,) if self.interaction is None else (self.person, self.interaction)
        return (self.repeatability, *middle, self.reproducibility, self.measuring, self.piece, self.total)

    @property
    def discrimination_ratio(self) -> float | None:
        """(1 + ρ)/(1 − ρ) with ρ the `icc`; None or endless where that has no value."""
        if self.icc is None:
            return None
        return (1 + self.icc) / (1 - self.icc) if self.icc < 1 else math.inf
