"""Who and what the demo shop has. Everything here is invented; figures serve the demo only."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from inventory.services.first_passwords import DEMO_PASSWORD

SHOP = "Threadneedle Row Measuring Room"
PASSWORD = DEMO_PASSWORD
PEOPLE = (
    ("owner", "Olive", "Marrow", "owner"),
    ("inspector", "Ines", "Tapeworth", "inspector"),
    ("second", "Basil", "Yard", "inspector"),
    ("viewer", "Vera", "Looker", "viewer"),
)
# number, kind, what it is, accuracy class
TAPES = (
    ("T1", "tape", "fibreglass, yellow", "II"),
    ("T2", "tape", "fibreglass, white", ""),
    ("T3", "tape", "fibreglass, green", "II"),
    ("R1", "rule", "1 m steel", "I"),
)
T2_FOUND_GOOD, T2_FOUND_WRONG = 55, 33  # days ago; then T3 took its place
STUDY_DAYS_AGO = 60
BATCHES_BEFORE_THE_STUDY = 4
# code, name, country, language, days agreed for notice
MAKERS = (
    ("finch", "Finch & Daughter Stitchery", "Northmoor", "en", 14),
    ("linde", "Werkstatt Lindenhof", "Südtal", "de", 10),
    ("maple", "Maple Lane Garments", "Eastfield", "en", None),
)


@dataclass(frozen=True)
class DemoStyle:
    """A style: nominals (mm, base size) and steps (mm) by point code; tolerances are the catalogue's."""

    code: str
    name: str
    family: str
    sizes: tuple[str, ...]
    nominals_mm: Mapping[str, tuple[int, int]]
    contains_metal: bool = True
    basis_full: tuple[str, ...] = ()
    seams: Mapping[str, int] = field(default_factory=dict)
    heights_mm: Mapping[str, int] = field(default_factory=dict)


LACED_SEAMS = {"UB": 4, "WA": 6, "HH": 5, "LE": 3}
LACED_MM = {
    "UB": (360, 25),
    "WA": (279, 25),
    "HH": (375, 25),
    "LE": (420, 25),
    "CF": (300, 4),
    "CB": (290, 4),
}
STYLES = (
    DemoStyle(
        "rosewood",
        "Rosewood, underbust",
        "laced_underbust",
        ("22", "24", "26", "28", "30"),
        LACED_MM,
        seams=LACED_SEAMS,
        heights_mm={"UB": 95, "WA": 0, "HH": -90, "LE": -130},
    ),
    DemoStyle(
        "juniper",
        "Juniper, overbust",
        "laced_overbust",
        ("22", "24", "26", "28"),
        {**LACED_MM, "FB": (430, 25)},
        basis_full=("WA",),
    ),
    DemoStyle(
        "ledger",
        "Ledger waistcoat",
        "waistcoat",
        ("S", "M", "L"),
        {"HC": (480, 40), "HW": (440, 40), "CB": (560, 10), "CF": (580, 10), "SH": (120, 4)},
        contains_metal=False,
    ),
)

Off = Callable[[str, str, int], float]  # point code, side, place in the batch -> mm off nominal


def nothing(_code: str, _side: str, _place: int) -> float:
    """A maker who sews to the sheet."""
    return 0.0


def waist(mm: float) -> Off:
    """The waist runs large by so much."""
    return lambda code, _side, _place: mm if code in {"WA", "HW"} else 0.0


def seams_too_deep(code: str, _side: str, _place: int) -> float:
    """Every seam takes up 1 mm too much."""
    return -1.0 * LACED_SEAMS.get(code, 0)


def left_longer(code: str, side: str, _place: int) -> float:
    """Every left half comes out larger than its right."""
    return (4.5 if side == "L" else -4.5) if code in {"UB", "WA", "HH"} else 0.0


def swapped_labels(code: str, _side: str, place: int) -> float:
    """The first three wear the label of the next smaller size."""
    step = {"CF": 4, "CB": 4}.get(code, 25)
    return step if place < 3 else 0.0


@dataclass(frozen=True)
class DemoBatch:
    """A delivery of one batch: when, from whom, how many, how many of them measured, what is off.

    The piece at the place `stopped_short` was finished without the repeats the bench asked for. Of a batch
    that is `sampled` the pieces drawn were measured, and the batch was decided by them.
    """

    days_ago: int
    maker: str
    style: str
    order: str
    pieces: int
    measured: int
    off: Off = field(default=nothing)
    stopped_short: int | None = None
    sampled: bool = False


BATCHES = (
    DemoBatch(172, "finch", "rosewood", "TR-101", 10, 10),
    DemoBatch(140, "linde", "rosewood", "TR-104", 10, 10, waist(0.5)),
    DemoBatch(112, "linde", "rosewood", "TR-107", 10, 10, waist(2.5)),
    DemoBatch(83, "linde", "rosewood", "TR-111", 10, 10, waist(4.5)),
    DemoBatch(51, "linde", "rosewood", "TR-115", 10, 10, waist(7.0)),
    DemoBatch(40, "finch", "juniper", "TR-117", 8, 8, left_longer),
    DemoBatch(24, "maple", "ledger", "TR-118", 12, 12),
    DemoBatch(9, "finch", "juniper", "TR-120", 8, 8, swapped_labels),
    DemoBatch(3, "linde", "rosewood", "TR-121", 12, 5, waist(8.0), stopped_short=4),
    DemoBatch(1, "finch", "rosewood", "TR-122", 12, 0),
    DemoBatch(30, "maple", "rosewood", "TR-123", 12, 12, seams_too_deep),
    DemoBatch(14, "linde", "juniper", "TR-124", 4, 1, waist(5.0)),
    DemoBatch(6, "maple", "ledger", "TR-125", 120, 20, sampled=True),
)
