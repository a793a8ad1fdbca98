"""Why inspection switched and what would switch it next, in plain words."""

from collections.abc import Sequence

from inventory.calc.sampling.switching.kinds import PastBatch, Rules, State

BEGINNING = "Inspection begins at normal."


def say_refused_twice(window: Sequence[PastBatch]) -> str:
    """Why inspection is tightened: the two refused batches and how close they were."""
    at = [index for index, one in enumerate(window) if not one.accepted]
    span = at[-1] - at[0] + 1
    return f"2 of {span} batches in a row were refused: {_names([window[index] for index in at])}."


def say_accepted_again(row: Sequence[PastBatch]) -> str:
    """Why normal inspection returns after tightened."""
    return f"{len(row)} batches in a row were accepted on tightened inspection: {_names(row)}."


def say_reduced(row: Sequence[PastBatch], found: int, pieces: int, limit: int) -> str:
    """Why reduced inspection is earned by the limit numbers."""
    return (
        f"The last {len(row)} batches, {row[0].name} to {row[-1].name}, were all accepted, with {found} bad "
        f"in {pieces} pieces; up to {limit} are allowed. Production is steady, and the shop wants it reduced."
    )


def say_stop(batches: Sequence[PastBatch], what: str) -> str:
    """Why inspection by sampling stops."""
    return f"{len(batches)} batches {what}: {_names(batches)}."


def look_ahead(rules: Rules, state: State, here: Sequence[PastBatch], score: int) -> str:
    """What would change the state next; ``here`` are the batches that count since it began."""
    if state is State.STOPPED:
        return "Inspect every piece. Sampling begins again, tightened, once the maker has acted."
    if state is State.REDUCED:
        return "A refused batch, one between its two numbers, or irregular production brings normal back."
    row = _accepted_in_a_row(here)
    if state is State.TIGHTENED:
        return f"{_more(5 - row)} accepted in a row: normal. {_stop_ahead(rules, here)}"
    return f"{_tighten_ahead(here)} {_reduced_ahead(rules, row, score)}"


def _stop_ahead(rules: Rules, here: Sequence[PastBatch]) -> str:
    if rules is Rules.MIL_105D:
        return f"Still tightened after {_more(10 - len(here))}: sampling stops."
    return f"{_more(5 - sum(not one.accepted for one in here))} refused: sampling stops."


def _tighten_ahead(here: Sequence[PastBatch]) -> str:
    last = [age for age, one in enumerate(reversed(here[-4:])) if not one.accepted]
    if not last:
        return "2 of 5 batches in a row refused, or fewer: tightened."
    left = 4 - last[0]
    return f"1 more refused {'with the next' if left == 1 else f'among the next {left}'}: tightened."


def _reduced_ahead(rules: Rules, row: int, score: int) -> str:
    if rules is Rules.ISO_1999:
        return f"Switching score {score}; from 30 on reduced inspection may be used."
    return f"{row} accepted in a row; from 10 on the limit numbers may allow reduced inspection."


def _accepted_in_a_row(here: Sequence[PastBatch]) -> int:
    return next((age for age, one in enumerate(reversed(here)) if not one.accepted), len(here))


def _more(count: int) -> str:
    return "1 more batch" if count == 1 else f"{count} more batches"


def _names(batches: Sequence[PastBatch]) -> str:
    names = [one.name for one in batches]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
