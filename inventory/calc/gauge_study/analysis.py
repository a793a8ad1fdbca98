"""From the readings of one point to everything the study says of it.

A part is shown twice: as estimated (it can come out below zero: then so few readings cannot tell it from
nothing) and as used (zero then). Its upper limit says how large it may be all the same.
"""

import math
from collections.abc import Sequence

from scipy.special import stdtrit

from inventory.calc.errors import ImpossibleInput
from inventory.calc.gauge_study.anova import Anova, two_way
from inventory.calc.gauge_study.mean_squares import Sum
from inventory.calc.gauge_study.ranges import GROUP_FACTOR
from inventory.calc.gauge_study.readings import StudyReading, Table, arrange
from inventory.calc.gauge_study.study import Dot, Part, PersonMean, Study
from inventory.calc.gauge_study.wording import notes_on, words_for
from inventory.calc.length import NM_PER_MM
from inventory.calc.uncertainty import ReadingError


def analyse(
    readings: Sequence[StudyReading],
    *,
    division_nm: int,
    tolerance_nm: int | None = None,
    pool_above: float = 0.25,
    confidence: float = 0.95,
) -> Study:
    """Analyse the readings of one point, read to `division_nm`; `tolerance_nm` is its whole width, if any.

    A repeat SD smaller than division/√12 is hidden by the division, and that is used in its place. Raises
    ImpossibleInput for what cannot be a study (see `arrange`), a division or tolerance not above zero, and a
    confidence not between 0 and 1.
    """
    _check(division_nm=division_nm, tolerance_nm=tolerance_nm, confidence=confidence)
    table = arrange(readings)
    anova = two_way(table, pool_above=pool_above)
    sums = _sums(anova, table)
    used = _used(sums)
    parts = {
        name: _part(name, sums[name], used, tolerance_nm=tolerance_nm, confidence=confidence) for name in sums
    }
    total, piece, measuring = used["total"], used["piece"], used["measuring"]
    groups = GROUP_FACTOR * math.sqrt(piece / measuring) if measuring else None
    tem_nm = math.sqrt(anova.repeat.mean_square_nm2)
    mean_nm = math.fsum(table.all_values_nm) / len(table.all_values_nm)
    error = _reading_error(parts, anova, people=len(table.people), division_nm=division_nm)
    people = _people(table, anova, confidence=confidence)
    return Study(
        table=table,
        anova=anova,
        repeatability=parts["repeatability"],
        person=parts["person"],
        interaction=parts.get("piece × person"),
        reproducibility=parts["reproducibility"],
        measuring=parts["measuring"],
        piece=parts["piece"],
        total=parts["total"],
        groups=None if groups is None else max(1, math.floor(groups * (1 + 1e-12))),
        groups_unrounded=groups,
        tem_nm=tem_nm,
        relative_tem_percent=100 * tem_nm / abs(mean_nm) if mean_nm else None,
        icc=piece / total if total else None,
        people=people,
        dots=_dots(table),
        error=error,
        confidence=confidence,
        notes=notes_on(
            anova,
            left_out=table.left_out,
            missing=table.missing,
            hidden=error.repeat_dof is None,
            groups=groups,
            people_high_nm=parts["reproducibility"].high_nm,
        ),
    )


def _sums(anova: Anova, table: Table) -> dict[str, Sum]:
    """Each part as a sum of mean squares (the expected mean squares of random pieces and people, solved)."""
    pieces, people, rounds = len(table.pieces), len(table.people), table.rounds
    base = anova.base
    repeat = Sum(((1.0, anova.error.mean_square),))
    of_person = 1 / (pieces * rounds)
    of_piece = 1 / (people * rounds)
    person = Sum(((of_person, anova.person.mean_square), (-of_person, base)))
    piece = Sum(((of_piece, anova.piece.mean_square), (-of_piece, base)))
    sums = {"repeatability": repeat, "person": person}
    reproducibility = person
    if not anova.pooled:
        interaction = Sum(((1 / rounds, base), (-1 / rounds, anova.repeat.mean_square)))
        sums["piece × person"] = interaction
        reproducibility = person + interaction
    measuring = reproducibility + repeat
    return {
        **sums,
        "reproducibility": reproducibility,
        "measuring": measuring,
        "piece": piece,
        "total": measuring + piece,
    }


def _used(sums: dict[str, Sum]) -> dict[str, float]:
    """Variances as used (nm²): estimates below zero are none, and sums are sums of what is used."""
    used: dict[str, float] = {
        name: max(0.0, sums[name].estimate_nm2)
        for name in ("repeatability", "person", "piece × person", "piece")
        if name in sums
    }
    used["reproducibility"] = used["person"] + used.get("piece × person", 0.0)
    used["measuring"] = used["reproducibility"] + used["repeatability"]
    used["total"] = used["measuring"] + used["piece"]
    return used


def _part(
    name: str, estimator: Sum, used: dict[str, float], *, tolerance_nm: int | None, confidence: float
) -> Part:
    variance, total = used[name], used["total"]
    sd_nm = math.sqrt(variance)
    low, high = (math.sqrt(limit) for limit in estimator.limits_nm2(confidence))
    # A part below zero is used as zero inside a sum, which may lift the sum above its own limits.
    low, high = min(low, sd_nm), max(high, sd_nm)
    return Part(
        name=name,
        estimated_nm2=estimator.estimate_nm2,
        used_nm2=variance,
        low_nm=low,
        high_nm=high,
        dof=estimator.dof,
        percent_of_total=100 * math.sqrt(variance / total) if total else None,
        percent_of_variance=100 * variance / total if total else None,
        percent_of_tolerance=600 * sd_nm / tolerance_nm if tolerance_nm else None,
        words=words_for(name, estimated_nm2=estimator.estimate_nm2, sd_nm=sd_nm, high_nm=high),
    )


def _reading_error(parts: dict[str, Part], anova: Anova, *, people: int, division_nm: int) -> ReadingError:
    hidden_nm = division_nm / math.sqrt(12)
    repeat_nm = parts["repeatability"].sd_nm
    hidden = repeat_nm < hidden_nm
    reproducibility = parts["reproducibility"]
    dof = reproducibility.dof or people - 1
    person_nm = math.ceil(reproducibility.sd_nm)
    return ReadingError(
        repeat_sd_nm=math.ceil(hidden_nm if hidden else repeat_nm),
        person_sd_nm=person_nm,
        # What people disagree about single pieces stays in a left-right difference, where a habit falls out.
        placing_sd_nm=min(math.ceil(parts["piece × person"].sd_nm), person_nm)
        if "piece × person" in parts
        else 0,
        repeat_dof=None if hidden else anova.error.dof,
        person_dof=max(1, math.floor(dof)),
    )


def _people(table: Table, anova: Anova, *, confidence: float) -> tuple[PersonMean, ...]:
    """Means of people over the same pieces: their difference from the mean of all, by Student's t."""
    base, count = anova.base, len(table.pieces) * table.rounds
    means = [
        math.fsum(value for row in table.values_nm for value in row[who]) / count
        for who in range(len(table.people))
    ]
    middle = math.fsum(means) / len(means)
    se_nm = math.sqrt(base.value_nm2 / count * (1 - 1 / len(means)))
    reach_nm = float(stdtrit(base.dof, (1 + confidence) / 2)) * se_nm
    return tuple(
        PersonMean(name, mean, mean - middle, mean - middle - reach_nm, mean - middle + reach_nm)
        for name, mean in zip(table.people, means, strict=True)
    )


def _dots(table: Table) -> tuple[Dot, ...]:
    dots = []
    for piece, row in zip(table.pieces, table.values_nm, strict=True):
        middle = math.fsum(value for cell in row for value in cell) / (len(row) * table.rounds)
        dots += [
            Dot(piece, person, number, value, value - middle)
            for person, cell in zip(table.people, row, strict=True)
            for number, value in enumerate(cell, start=1)
        ]
    return tuple(dots)


def _check(*, division_nm: int, tolerance_nm: int | None, confidence: float) -> None:
    if division_nm <= 0:
        raise ImpossibleInput(
            "division of the tape", f"{division_nm / NM_PER_MM:g} mm", "Give what it is read to"
        )
    if tolerance_nm is not None and tolerance_nm <= 0:
        raise ImpossibleInput(
            "width of the tolerance", f"{tolerance_nm / NM_PER_MM:g} mm", "Give none or more"
        )
    if not 0 < confidence < 1:
        raise ImpossibleInput("confidence", confidence, "Give a number between 0 and 1")
