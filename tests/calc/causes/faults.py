"""One known fault at a time, written out as the trade would describe it, at a stated size in mm."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from inventory.calc.causes import Cause
from tests.calc.causes.bench import A_SIZE, FORMER_MM, POINTS, SIZES, SMALLEST_MM, STEP_MM, Floats, Rows

Fault = Callable[[Rows, np.random.Generator, int], Floats]
Column = Callable[[Rows, np.random.Generator], Floats]


@dataclass(frozen=True)
class Known:
    """A fault with its size in the trade's words, and what it adds to the deviations (n x m)."""

    cause: Cause
    size: str
    adds: Fault


def _same(column: Callable[[Rows], Floats]) -> Fault:
    """A fault that is alike in every batch but for its sign."""

    def adds(at: Rows, rng: np.random.Generator, batches: int) -> Floats:
        out: Floats = column(at)[:, None] * rng.choice([-1.0, 1.0], batches)
        return out

    return adds


def _own(column: Column) -> Fault:
    """A fault drawn anew for each batch."""

    def adds(at: Rows, rng: np.random.Generator, batches: int) -> Floats:
        return np.array([column(at, rng) for _ in range(batches)]).T

    return adds


def _always(column: Callable[[Rows], Floats]) -> Fault:
    """A fault that is alike in every batch."""

    def adds(at: Rows, rng: np.random.Generator, batches: int) -> Floats:
        return np.repeat(column(at)[:, None], batches, axis=1)

    return adds


def _sign(rng: np.random.Generator) -> float:
    return float(rng.choice([-1.0, 1.0]))


def _by_code(at: Rows, figures: Mapping[str, float]) -> Floats:
    return np.array([figures.get(code, 0.0) for code in at.code], dtype=np.float64)


def _some_piece(at: Rows, rng: np.random.Generator) -> Floats:
    return np.equal(at.piece, rng.integers(SIZES * A_SIZE)).astype(np.float64)


def _label(at: Rows, rng: np.random.Generator) -> Floats:
    """One piece with the label of a neighbouring size."""
    size = int(rng.integers(SIZES))
    really = size + int(rng.choice([way for way in (-1, 1) if 0 <= size + way < SIZES]))
    mine = np.equal(at.piece, size * A_SIZE + rng.integers(A_SIZE))
    return _by_code(at, STEP_MM) * mine * (really - size)


def _panel(at: Rows, rng: np.random.Generator) -> Floats:
    run = (("TE", "UB"), ("UB", "WA"), ("WA", "HH"), ("HH", "LE"), ("WA", "HH", "LE"))[rng.integers(5)]
    side = np.equal(at.left, bool(rng.integers(2)))
    return _some_piece(at, rng) * side * at.at(*run) * 15.0 * _sign(rng)


def _stack(at: Rows, rng: np.random.Generator) -> Floats:
    """Besides the hands: a slip of SD 0, 2, 4, 6 mm from the first piece of a bundle to the fourth."""
    later = np.where(at.piece >= 0, at.piece % A_SIZE, 0)
    return rng.normal(size=len(at.piece)) * 2.0 * later


def _misread(at: Rows, rng: np.random.Generator) -> Floats:
    out = np.zeros(len(at.piece))
    out[rng.integers((at.piece >= 0).sum())] = 20.0 * _sign(rng)
    return out


def _worn(at: Rows, rng: np.random.Generator) -> Floats:
    return _some_piece(at, rng) * at.at("WA") * 12.0


def _pattern(at: Rows, rng: np.random.Generator) -> Floats:
    """Not the waist nor an edge, where a waist tape or a binding does just the same."""
    return at.at(["UB", "HH", "CF", "SS", "WF"][rng.integers(5)]) * 7.0 * _sign(rng)


def _grading(at: Rows, rng: np.random.Generator) -> Floats:
    """3 mm more each size, from the smallest, which is right."""
    return at.at(list(SMALLEST_MM)[rng.integers(8)]) * at.size * 3.0 * _sign(rng)


SLOPES: Final = {point.code: point.height_sensitivity for point in POINTS}

KNOWN: Final = (
    Known(Cause.TAPE, "1.5 % of every length", _same(lambda at: 0.015 * at.nominal)),
    Known(Cause.START, "5 mm on every reading", _same(lambda at: np.full(len(at.piece), 5.0))),
    Known(Cause.PERSON, "5 mm on every reading of one of two people", _same(lambda at: 5.0 * at.ann)),
    Known(
        Cause.TECHNIQUE,
        "line 10 mm too low by one of two people: 9 mm at the hip",
        _same(lambda at: 10.0 * at.ann * _by_code(at, SLOPES)),
    ),
    Known(Cause.MISREAD, "20 mm, one reading", _own(_misread)),
    Known(
        Cause.SEAMS,
        "1 mm at each of 6 seams a half: 6 mm on every girth",
        _same(lambda at: 6.0 * np.where(at.piece >= 0, at.girth, 0.0)),
    ),
    Known(Cause.PATTERN, "7 mm at one point", _own(_pattern)),
    Known(Cause.GRADING, "3 mm a size at one point", _own(_grading)),
    Known(Cause.LABEL, "one piece, one size (13 mm a half girth)", _own(_label)),
    Known(Cause.PANEL, "15 mm at two or three girths of one side of one piece", _own(_panel)),
    Known(
        Cause.CLOTH,
        "2 % of every length along the warp",
        _same(lambda at: 0.02 * at.nominal * at.at("CF", "SS", "WF")),
    ),
    Known(
        Cause.BINDING,
        "both edges 6 mm short",
        _always(lambda at: -6.0 * at.at("TE", "LE")),
    ),
    Known(Cause.WAIST_TAPE, "6 mm at the waist, all pieces", _same(lambda at: 6.0 * at.at("WA"))),
    Known(Cause.STACK, "SD of the slip 0, 2, 4, 6 mm through bundles of four", _own(_stack)),
    Known(Cause.WORN, "one piece 12 mm wider at the waist", _own(_worn)),
    Known(
        Cause.OLD_SPEC,
        "hip and lower edge 8 mm, front 5 mm off as before",
        _always(lambda at: _by_code(at, FORMER_MM)),
    ),
)
