"""What is known of a batch when somebody asks whose fault it is: plain frozen values, lengths in nm."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from inventory.calc.errors import ImpossibleInput

Side = Literal["L", "R", "S"]
Edge = Literal["", "top", "bottom"]


class PointKind(StrEnum):
    """What kind of length a point is; half and full are girths."""

    HALF = "half"
    FULL = "full"
    LENGTH = "length"
    PLACEMENT = "placement"


class Grain(StrEnum):
    """The direction of the cloth a point lies in: along the warp (the run of the roll), or across it."""

    WARP = "warp"
    WEFT = "weft"


@dataclass(frozen=True, slots=True)
class Point:
    """One point: what the causes need to know of it.

    ``repeat_nm`` is the same-person SD, ``person_nm`` the SD between people, ``spread_nm`` the usual SD of
    the maker's hands. ``height_sensitivity``: change (nm) per nm the line lies too low. ``seams``: how many
    are crossed, None if not known. ``level``: rank of a girth from the top, None for all other points.
    ``bound_edge``: the bound edge it runs along. ``grain``: None takes girths as weft, lengths as warp.
    """

    code: str
    kind: PointKind
    repeat_nm: int
    person_nm: int
    spread_nm: int = 2_000_000
    height_sensitivity: float = 0.0
    seams: int | None = None
    level: int | None = None
    at_waist: bool = False
    bound_edge: Edge = ""
    grain: Grain | None = None

    def __post_init__(self) -> None:
        for thing, nm in (
            ("same person SD", self.repeat_nm),
            ("SD between people", self.person_nm),
            ("maker's spread", self.spread_nm),
        ):
            if nm < 0:
                raise ImpossibleInput(f"{thing} of {self.code}", f"{nm} nm, below zero", "Give zero or more")
        if self.seams is not None and self.seams < 0:
            raise ImpossibleInput(f"seams crossed by {self.code}", self.seams, "Give zero or more")

    @property
    def is_girth(self) -> bool:
        return self.kind in (PointKind.HALF, PointKind.FULL)

    @property
    def lies_in(self) -> Grain | None:
        """The direction of the cloth: as given, else girths across and lengths along (placements: none)."""
        if self.grain is not None or self.kind is PointKind.PLACEMENT:
            return self.grain
        return Grain.WEFT if self.is_girth else Grain.WARP


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece: its size as a rank (0, 1, 2 …) and a label, its place in its bundle, and its handling."""

    name: str
    size: int
    size_label: str = ""
    in_bundle: int | None = None
    tried_on: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: who, with which tape, when (``order`` counts from 0), and how far (nm) from its nominal.

    ``smaller_nm`` and ``larger_nm`` are the nominals of the neighbouring sizes, ``former_nm`` that of the
    spec revision before; None where there is none.
    """

    piece: str
    code: str
    side: Side
    person: str
    tape: str
    nominal_nm: int
    deviation_nm: int
    order: int = 0
    smaller_nm: int | None = None
    larger_nm: int | None = None
    former_nm: int | None = None


class Witness(StrEnum):
    """Who speaks for our own measuring."""

    CHECK_GARMENT = "check_garment"
    OTHER_MAKER = "other_maker"


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """How far (nm) readings off this batch moved in the same days, with the standard uncertainty (nm).

    The check garment since its baseline, or another maker's pieces against their nominals; the uncertainty
    holds all that is ordinary. ``person`` and ``tape`` None: several of them, all alike. ``order``: when,
    among the readings of the batch; None: all the while.
    """

    witness: Witness
    name: str
    nominal_nm: int
    shift_nm: int
    u_nm: float
    is_girth: bool
    height_sensitivity: float = 0.0
    person: str | None = None
    tape: str | None = None
    order: int | None = None

    def __post_init__(self) -> None:
        if not self.u_nm > 0:
            fault = f"{self.u_nm} nm"
            raise ImpossibleInput(f"uncertainty of {self.name}", fault, "Give a figure above zero")


@dataclass(frozen=True, slots=True)
class Batch:
    """The readings of a batch, with its pieces and points, and what moved elsewhere.

    Raises ImpossibleInput if it has fewer than two readings, names a piece or point twice, or a reading
    belongs to a piece or point that is not given, has no nominal above zero, or an order below zero.
    """

    points: tuple[Point, ...]
    pieces: tuple[Piece, ...]
    readings: tuple[Reading, ...]
    elsewhere: tuple[Elsewhere, ...] = ()

    def __post_init__(self) -> None:
        if len(self.readings) < 2:
            raise ImpossibleInput(
                "number of readings", len(self.readings), "Measure at least two points before asking why"
            )
        codes = _once("point", (point.code for point in self.points))
        names = _once("piece", (piece.name for piece in self.pieces))
        for reading in self.readings:
            _belongs("point", reading.code, codes)
            _belongs("piece", reading.piece, names)
            if reading.order < 0:
                thing = f"order of {reading.code}, piece {reading.piece}"
                raise ImpossibleInput(thing, reading.order, "Count readings from 0")
            if reading.nominal_nm <= 0:
                thing = f"nominal of {reading.code}, piece {reading.piece}"
                raise ImpossibleInput(thing, f"{reading.nominal_nm} nm", "Give a length above zero")


def _once(thing: str, names: Iterable[str]) -> frozenset[str]:
    counts = Counter(names)
    for name, times in counts.items():
        if times > 1:
            raise ImpossibleInput(f"{thing} {name}", f"given {times} times", "Give it once")
    return frozenset(counts)


def _belongs(thing: str, name: str, known: frozenset[str]) -> None:
    if name not in known:
        raise ImpossibleInput(f"{thing} {name}", "read, but not among those given", f"Add the {thing}")
