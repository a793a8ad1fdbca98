"""What a study says in words, for people who do not read tables of variances."""

from collections.abc import Sequence
from typing import Final

from inventory.calc.gauge_study.anova import Anova
from inventory.calc.length import NM_PER_MM

_MEANS: Final = {
    "repeatability": "the same hands reading again",
    "person": "one person's habit against another's",
    "piece × person": "people disagreeing about single pieces",
    "reproducibility": "other hands, all told",
    "measuring": "our measuring, all told",
    "piece": "the pieces themselves",
    "total": "everything together",
}
_USUAL_GROUPS: Final = 5


def words_for(name: str, *, estimated_nm2: float, sd_nm: float, high_nm: float) -> str:
    """One sentence or two for a part of the spread.

    >>> words_for("person", estimated_nm2=-1e10, sd_nm=0.0, high_nm=800_000.0)
    "One person's habit against another's: came out below zero, taken as none. It may still be 0.8 mm."
    """
    means = _MEANS[name][0].upper() + _MEANS[name][1:]
    if estimated_nm2 < 0 and not sd_nm:
        return f"{means}: came out below zero, taken as none. It may still be {_mm(high_nm)}."
    return f"{means}: SD {_mm(sd_nm)}."


def notes_on(
    anova: Anova,
    *,
    left_out: Sequence[str],
    missing: Sequence[str],
    hidden: bool,
    groups: float | None,
    people_high_nm: float,
) -> tuple[str, ...]:
    """What has to be said beside the figures; `people_high_nm` is the upper limit of the reproducibility."""
    notes = []
    if left_out:
        one = len(left_out) == 1
        notes.append(
            f"{'Piece' if one else 'Pieces'} {', '.join(left_out)} {'was' if one else 'were'} left out, "
            f"for {len(missing)} {'reading is' if len(missing) == 1 else 'readings are'} missing: "
            f"{', '.join(missing)}."
        )
    if not anova.repeat.mean_square_nm2:
        notes.append("Every repeat gave the same figure: the resolution hides the spread of the repeats.")
    if hidden:
        notes.append("The repeats spread less than the division can show; division/√12 is used instead.")
    notes.append(_pooling(anova))
    if anova.person.dof == 1:
        notes.append(
            "Two people say little of how far people differ: other hands may add up to "
            f"{_mm(people_high_nm)}. A third person would tell most."
        )
    notes.append(_of_groups(groups))
    return tuple(notes)


def _pooling(anova: Anova) -> str:
    p = anova.interaction.p
    if p is None:
        return "People do not disagree about single pieces: nothing differs between repeats."
    if anova.pooled:
        return (
            f"People do not disagree about single pieces beyond chance (p = {p:.2f}); "
            "that line is pooled with the repeats."
        )
    return (
        f"People disagree about single pieces (p = {p:.2f}); that is kept apart and counts with the people."
    )


def _of_groups(groups: float | None) -> str:
    if groups is None:
        return "Our measuring adds nothing that can be seen: any two pieces that differ are told apart."
    told = max(1, int(groups))
    if told == 1:
        return "Our measuring cannot tell these pieces apart: all of them look like one group."
    good = "" if told >= _USUAL_GROUPS else f", fewer than the {_USUAL_GROUPS} usually asked for"
    return f"Our measuring can tell these pieces into {told} groups{good}."


def _mm(nm: float) -> str:
    return f"{nm / NM_PER_MM:.1f} mm" if nm >= NM_PER_MM / 10 or not nm else f"{nm / NM_PER_MM:.1g} mm"
