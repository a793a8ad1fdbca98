"""Help with the level at the bench: what a person typed into one of the helpers, worked out.

The helpers are those of `inventory.calc.level`. What was typed travels with the reading as it was typed, and
is worked out again where the reading is stored, so nothing is kept that the program has not reckoned itself.
How well a height or one panel can be read is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final
from urllib.parse import parse_qsl, urlencode

from inventory.calc import length, level, uncertainty
from inventory.calc.errors import ImpossibleInput
from inventory.calc.level import Anchor

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from inventory.calc.length import Display, Unit
    from inventory.calc.level import Working
    from inventory.calc.plan import PointPlan

MM: Final = 1_000_000
U_HEIGHT_NM: Final = 1 * MM
"""How well the height of a tape's end above a straight edge is read. Common practice, no source."""
U_PANEL_NM: Final = MM // 2
"""One panel from seam to seam, without the rounding. Common practice, no source."""
MOST_PANELS: Final = 8
_LONGEST: Final = 40


@dataclass(frozen=True, slots=True)
class Box:
    """One length to type: its name in the form, and what stands beside it."""

    name: str
    label: str


@dataclass(frozen=True, slots=True)
class Helper:
    """One of the helpers: what it is for, and the lengths it takes; those of `least` must be typed."""

    kind: str
    title: str
    purpose: str
    boxes: tuple[Box, ...]
    least: tuple[str, ...]


_ANCHORS: Final = {anchor.name.lower(): anchor for anchor in Anchor}

HELPERS: Final[tuple[Helper, ...]] = (
    Helper(
        "slant",
        "The tape lay slanted",
        "Heights of both ends above one straight edge: gives the straight length.",
        (
            Box("reading", "Reading along the slant"),
            Box("start", "Height at the start"),
            Box("end", "Height at the far end"),
        ),
        ("reading", "start", "end"),
    ),
    Helper(
        "edge",
        "Along the edge, or straight?",
        "For a curved edge: says which of the two a reading looks like.",
        (
            Box("reading", "Reading"),
            Box("straight", "Straight across"),
            Box("sag", "How far the edge dips"),
        ),
        ("reading", "straight", "sag"),
    ),
    Helper(
        "waist",
        "Where is the waist line?",
        "Heights above the same lower edge of whatever shows it, most trusted first. Leave out what is not "
        "there; more than 5 mm apart, both are recorded.",
        tuple(Box(name, anchor.capitalize()) for name, anchor in _ANCHORS.items()),
        (),
    ),
    Helper(
        "panels",
        "Add up the panels",
        "The referee for what will not lie flat: each panel at the line, seam to seam, and the straight "
        "reading.",
        (
            Box("straight", "Straight reading"),
            *(Box(f"panel{n}", f"Panel {n}") for n in range(1, MOST_PANELS + 1)),
        ),
        ("straight", "panel1", "panel2"),
    ),
)
_BY_KIND: Final = {helper.kind: helper for helper in HELPERS}


def helper_of(kind: str) -> Helper:
    """The helper of a kind. Raises ImpossibleInput for one that nobody knows."""
    try:
        return _BY_KIND[kind]
    except KeyError:
        known = ", ".join(_BY_KIND)
        raise ImpossibleInput("helper", f'"{kind[:20]}"', f"Choose one of {known}") from None


@dataclass(frozen=True, slots=True)
class LevelAsked:
    """What was typed into a helper, by box."""

    helper: Helper
    typed: Mapping[str, str]

    def as_text(self) -> str:
        """As it travels with a reading."""
        return urlencode({"kind": self.helper.kind, **self.typed})

    def work_out(self, plan: PointPlan, *, unit: Unit, display: Display) -> Working:
        """The working, in the shop's words; bare figures are in `unit`.

        Raises `LengthNotUnderstood`, and ImpossibleInput for lengths that cannot be.
        """
        lengths = {name: length.parse(text, unit=unit).nm for name, text in self.typed.items()}
        for box in self.helper.boxes:
            if box.name in self.helper.least and box.name not in lengths:
                raise ImpossibleInput(box.label, "not typed", "Type what you measured")
        return _WORKED_OUT[self.helper.kind](lengths, plan, unit, display)


def level_asked(sent: Mapping[str, str]) -> LevelAsked:
    """What a form sent: `kind` and its boxes, empty ones left out. Raises ImpossibleInput."""
    helper = helper_of(sent.get("kind", ""))
    typed = {box.name: sent.get(box.name, "").strip() for box in helper.boxes}
    for box in helper.boxes:
        if len(typed[box.name]) > _LONGEST:
            raise ImpossibleInput(box.label, f"longer than {_LONGEST} signs", "Type a length")
    return LevelAsked(helper, {name: text for name, text in typed.items() if text})


def read_level(text: str) -> LevelAsked | None:
    """What travelled with a reading; None for nothing. Raises ImpossibleInput."""
    return level_asked(dict(parse_qsl(text[:1000]))) if text else None


def _slant(lengths: Mapping[str, int], _plan: PointPlan, _unit: Unit, display: Display) -> Working:
    return level.slant_corrected(
        lengths["reading"],
        start_height_nm=lengths["start"],
        end_height_nm=lengths["end"],
        u_height_nm=U_HEIGHT_NM,
        display=display,
    )


def _edge(lengths: Mapping[str, int], plan: PointPlan, _unit: Unit, display: Display) -> Working:
    """Both were read by the same hands just now: they differ by two repeats."""
    return level.edge_or_straight(
        lengths["reading"],
        straight_nm=lengths["straight"],
        sag_nm=lengths["sag"],
        u_nm=uncertainty.of_difference(plan.error, left_readings=1, right_readings=1),
        display=display,
    )


def _waist(lengths: Mapping[str, int], _plan: PointPlan, _unit: Unit, display: Display) -> Working:
    return level.waist_line({_ANCHORS[name]: nm for name, nm in lengths.items()}, display=display)


def _panels(lengths: Mapping[str, int], plan: PointPlan, unit: Unit, display: Display) -> Working:
    """A difference matters from half the smaller tolerance of one side."""
    limits = plan.limits
    least_nm = min(plan.nominal_nm - limits.lower_nm, limits.upper_nm - plan.nominal_nm)
    return level.referee(
        [nm for name, nm in lengths.items() if name != "straight"],
        straight_nm=lengths["straight"],
        u_straight_nm=uncertainty.of_mean(plan.error, readings=1),
        step_nm=length.nm_per_unit()[unit] // 16 if unit is length.Unit.INCH else MM,
        u_panel_nm=U_PANEL_NM,
        matters_nm=max(least_nm // 2, 1),
        display=display,
    )


_WORKED_OUT: Final[dict[str, Callable[[Mapping[str, int], PointPlan, Unit, Display], Working]]] = {
    "slant": _slant,
    "edge": _edge,
    "waist": _waist,
    "panels": _panels,
}
