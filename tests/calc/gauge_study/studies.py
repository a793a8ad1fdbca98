"""Studies for the tests: made from a table of values, or drawn at random from known parts."""

import numpy as np
import numpy.typing as npt

from inventory.calc.gauge_study import StudyReading

MM = 1_000_000


def readings_of(values: npt.ArrayLike) -> list[StudyReading]:
    """Readings of an array [piece, person, round], whole nm; pieces and people are named by number."""
    array = np.asarray(values)
    return [
        StudyReading(f"{piece + 1}", "ABCDEFGH"[person], number + 1, int(array[piece, person, number]))
        for piece, person, number in np.ndindex(*array.shape)
    ]


def drawn(
    rng: np.random.Generator,
    *,
    pieces: int = 10,
    people: int = 2,
    rounds: int = 2,
    piece_sd: float = 5.0,
    person_sd: float = 1.5,
    interaction_sd: float = 0.0,
    repeat_sd: float = 2.0,
) -> npt.NDArray[np.int64]:
    """Readings (nm) of random pieces by random people; SDs in mm."""
    values = (
        330.0
        + rng.normal(0, piece_sd, (pieces, 1, 1))
        + rng.normal(0, person_sd, (1, people, 1))
        + rng.normal(0, interaction_sd, (pieces, people, 1))
        + rng.normal(0, repeat_sd, (pieces, people, rounds))
    )
    return np.rint(values * MM).astype(np.int64)
