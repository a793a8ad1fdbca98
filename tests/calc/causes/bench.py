"""A bench of 16 pieces in 4 sizes, 8 points on two sides, two people: simulated, with nothing the matter.

The simulator knows nothing of the calculation: it draws hands, people and tape in plain mm from the figures
below, many batches of the one layout at a time.

The ordinary spread: SD of one reading 1 to 2 mm by point, of people 1 to 1.5 mm (at every point alike 0.7 mm,
the rest point by point), of the maker's hands 2 mm on girths and 1.5 mm on lengths, of a whole piece 0.8 mm,
of a whole batch at a point 0.7 mm. Common practice, no source.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from inventory.calc.causes import Batch, Elsewhere, Piece, Point, PointKind, Reading, Side, Witness

MM: Final = 1_000_000
Floats = NDArray[np.float64]

HALF, LENGTH = PointKind.HALF, PointKind.LENGTH

POINTS: Final = (
    Point("TE", HALF, 2 * MM, 1_500_000, 2 * MM, height_sensitivity=0.5, seams=6, level=1, bound_edge="top"),
    Point("UB", HALF, 1_500_000, 1_500_000, 2 * MM, height_sensitivity=0.4, seams=6, level=2),
    Point("WA", HALF, 1 * MM, 1 * MM, 2 * MM, height_sensitivity=0.0, seams=6, level=3, at_waist=True),
    Point("HH", HALF, 2 * MM, 1_500_000, 2 * MM, height_sensitivity=0.9, seams=6, level=4),
    Point(
        "LE", HALF, 2 * MM, 1_500_000, 2 * MM, height_sensitivity=0.8, seams=6, level=5, bound_edge="bottom"
    ),
    Point("CF", LENGTH, 1 * MM, 1 * MM, 1_500_000),
    Point("SS", LENGTH, 1 * MM, 1 * MM, 1_500_000),
    Point("WF", LENGTH, 1 * MM, 1 * MM, 1_500_000),
)
SMALLEST_MM: Final = {"TE": 370, "UB": 350, "WA": 310, "HH": 410, "LE": 450, "CF": 330, "SS": 260, "WF": 140}
STEP_MM: Final = {"TE": 13, "UB": 13, "WA": 13, "HH": 13, "LE": 13, "CF": 3, "SS": 2, "WF": 1}
FORMER_MM: Final = {"TE": 0, "UB": 0, "WA": 0, "HH": -8, "LE": -8, "CF": 5, "SS": 0, "WF": 0}
"""How far the nominals of the revision before lay from those in force."""

SIZES, A_SIZE = 4, 4
SIDES: Final[tuple[Side, ...]] = ("L", "R")


def nominal_mm(code: str, size: int) -> int:
    return SMALLEST_MM[code] + STEP_MM[code] * size


def batch() -> Batch:
    """Pieces alternate between two people; one tape; the check garment and another maker's waist besides."""
    pieces = tuple(
        Piece(f"{place + 1}", place // A_SIZE, f"S{place // A_SIZE}", in_bundle=place % A_SIZE)
        for place in range(SIZES * A_SIZE)
    )
    readings: list[Reading] = []
    for place, piece in enumerate(pieces):
        for point in POINTS:
            here = nominal_mm(point.code, piece.size)
            step = STEP_MM[point.code]
            readings += [
                Reading(
                    piece=piece.name,
                    code=point.code,
                    side=side,
                    person="ann" if place % 2 else "bea",
                    tape="blue",
                    nominal_nm=here * MM,
                    deviation_nm=0,
                    smaller_nm=(here - step) * MM if piece.size else None,
                    larger_nm=(here + step) * MM if piece.size < SIZES - 1 else None,
                    former_nm=(here + FORMER_MM[point.code]) * MM,
                    order=len(readings) + at,
                )
                for at, side in enumerate(SIDES)
            ]
    check = [
        Elsewhere(
            Witness.CHECK_GARMENT,
            f"{what} of the check garment, {who}",
            nominal_nm=long * MM,
            shift_nm=0,
            u_nm=1.0 * MM,
            is_girth=girth,
            person=who,
            tape="blue",
        )
        for who in ("ann", "bea")
        for what, long, girth in (("waist", 330, True), ("front", 340, False))
    ]
    others = Elsewhere(Witness.OTHER_MAKER, "other makers' waists", 340 * MM, 0, 1.0 * MM, is_girth=True)
    return Batch(POINTS, pieces, tuple(readings), (*check, others))


@dataclass(frozen=True)
class Rows:
    """The readings of the bench in the order of `batch`, one row each, then the witnesses."""

    piece: NDArray[np.int64]
    code: NDArray[np.str_]
    left: NDArray[np.bool_]
    nominal: Floats
    size: NDArray[np.int64]
    ann: Floats
    """1 where Ann read, 0 where Bea did, one half where both."""
    girth: NDArray[np.bool_]

    def at(self, *codes: str) -> Floats:
        flags: Floats = np.isin(self.code, codes).astype(float)
        return flags


def rows() -> Rows:
    made = batch()
    sizes = {piece.name: piece.size for piece in made.pieces}
    places = {piece.name: place for place, piece in enumerate(made.pieces)}
    girths = {point.code for point in POINTS if point.kind is HALF}
    readings = made.readings
    away = [-1] * len(made.elsewhere)
    shares = {"ann": 1.0, "bea": 0.0, None: 0.5}
    return Rows(
        piece=np.array([places[r.piece] for r in readings] + away),
        code=np.array([r.code for r in readings] + [""] * len(away)),
        left=np.array([r.side == "L" for r in readings] + [False] * len(away)),
        nominal=np.array([r.nominal_nm / MM for r in readings] + [e.nominal_nm / MM for e in made.elsewhere]),
        size=np.array([sizes[r.piece] for r in readings] + away),
        ann=np.array(
            [shares[who] for who in [r.person for r in readings] + [e.person for e in made.elsewhere]]
        ),
        girth=np.array([r.code in girths for r in readings] + [e.is_girth for e in made.elsewhere]),
    )


def ordinary(at: Rows, rng: np.random.Generator, *, batches: int, spread: float = 1.0) -> Floats:
    """Deviations (mm, n x m) with nothing the matter; `spread`: the maker's, in times of the usual."""
    n = len(at.piece)
    inside = at.piece >= 0
    repeat = np.array([{p.code: p.repeat_nm / MM for p in POINTS}.get(code, 0.0) for code in at.code])
    repeat[~inside] = 1.0
    hands = spread * np.where(at.girth, 2.0, 1.5) * inside
    out: Floats = rng.normal(size=(n, batches)) * np.hypot(repeat, hands)[:, None]
    out += spread * rng.normal(0, 0.8, (SIZES * A_SIZE, batches))[at.piece] * (at.girth & inside)[:, None]
    for code in SMALLEST_MM:
        here = at.at(code)[:, None]
        out += spread * here * rng.normal(0, 0.7, batches)
        for who in (at.ann, 1 - at.ann):
            out += here * who[:, None] * rng.normal(0, 0.9, batches)
    for who in (at.ann, 1 - at.ann):
        out += (who * inside)[:, None] * rng.normal(0, 0.7, batches)
    return out
