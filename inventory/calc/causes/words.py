"""The causes by name: whose they are, what they do, what confirms them. Common practice, no source."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final


class Cause(StrEnum):
    """Everything that may be behind the deviations of a batch."""

    NOTHING = "nothing"
    TAPE = "tape"
    START = "start"
    PERSON = "person"
    TECHNIQUE = "technique"
    MISREAD = "misread"
    SEAMS = "seams"
    PATTERN = "pattern"
    GRADING = "grading"
    LABEL = "label"
    PANEL = "panel"
    CLOTH = "cloth"
    BINDING = "binding"
    WAIST_TAPE = "waist_tape"
    STACK = "stack"
    WORN = "worn"
    OLD_SPEC = "old_spec"


class Whose(StrEnum):
    """Whose doing a cause is."""

    OURS = "ours"
    MAKERS = "makers"
    HANDLING = "handling"
    ORDERING = "ordering"
    NOBODYS = "nobodys"


class EffectUnit(StrEnum):
    """What an effect counts: nm on each reading, a share of the length, nm a seam, a size, or of height."""

    NM = "nm"
    SHARE = "share"
    NM_PER_SEAM = "nm_per_seam"
    NM_PER_SIZE = "nm_per_size"
    NM_TOO_LOW = "nm_too_low"
    STEPS = "steps"
    TIMES_WIDER = "times_wider"


@dataclass(frozen=True, slots=True)
class Words:
    """A cause in words: its name, whose it is, what it does to the readings, how to confirm it, its unit.

    ``plus`` and ``minus`` say what an effect above or below zero means. ``needs``: what must be known before
    the cause can be looked for.
    """

    name: str
    whose: Whose
    explanation: str
    confirm: str
    unit: EffectUnit
    plus: str = ""
    minus: str = ""
    needs: str = ""


WORDS: Final[Mapping[Cause, Words]] = {
    Cause.NOTHING: Words(
        "nothing in particular",
        Whose.NOBODYS,
        "The deviations are no more than the usual spread of hands, people and tape.",
        "Measure more pieces if in doubt.",
        EffectUnit.NM,
    ),
    Cause.TAPE: Words(
        "tape stretched or shrunk",
        Whose.OURS,
        "All lengths and girths are off by the same share, on the check garment and other makers too.",
        "Lay the tape beside the steel rule at two lengths; measure the check garment.",
        EffectUnit.SHARE,
        plus="the tape reads long: it has shrunk",
        minus="the tape reads short: it has stretched",
    ),
    Cause.START: Words(
        "start of the tape",
        Whose.OURS,
        "Every reading with the tape is off by the same amount, long or short, whoever reads.",
        "Read again with another tape; look at the first centimetre of this one.",
        EffectUnit.NM,
        plus="every reading too long",
        minus="every reading too short",
    ),
    Cause.PERSON: Words(
        "one person reads differently",
        Whose.OURS,
        "One person's readings are all off by the same amount, or all of that person's girths.",
        "Have another person read the same pieces, blind.",
        EffectUnit.NM,
        plus="reads longer than the others",
        minus="reads shorter than the others",
    ),
    Cause.TECHNIQUE: Words(
        "one person lays the line at another height",
        Whose.OURS,
        "One person's girths are off where the garment tapers, most where steepest; the waist is not.",
        "Have another person read the hip and the edges, with the height marked.",
        EffectUnit.NM_TOO_LOW,
        plus="the line lies too low where the garment widens downwards",
        minus="the line lies too high where the garment widens downwards",
        needs="how much each girth changes with height",
    ),
    Cause.MISREAD: Words(
        "one reading is wrong",
        Whose.OURS,
        "A single reading stands out; the rest of the piece and the batch do not follow it.",
        "Read that one again.",
        EffectUnit.NM,
        plus="read too long",
        minus="read too short",
    ),
    Cause.SEAMS: Words(
        "seam allowances taken too wide or too narrow",
        Whose.MAKERS,
        "All girths are off by the same amount a seam crossed, both sides, all sizes; lengths are not.",
        "Measure the panels seam to seam: all are off a little.",
        EffectUnit.NM_PER_SEAM,
        plus="seam allowances too narrow: girths too large",
        minus="seam allowances too wide: girths too small",
        needs="a girth among the points",
    ),
    Cause.PATTERN: Words(
        "pattern off at one point",
        Whose.MAKERS,
        "One point is off by the same amount in every size and piece.",
        "Measure the panels at that point: one of them is off.",
        EffectUnit.NM,
        plus="the point is too large",
        minus="the point is too small",
    ),
    Cause.GRADING: Words(
        "grading of one point",
        Whose.MAKERS,
        "At one point the deviation grows evenly from size to size.",
        "Look at the deviations of that point over the sizes.",
        EffectUnit.NM_PER_SIZE,
        plus="larger sizes come out too large",
        minus="larger sizes come out too small",
        needs="three sizes or more",
    ),
    Cause.LABEL: Words(
        "wrong size label",
        Whose.MAKERS,
        "One piece or a few fit the neighbouring size at every point.",
        "Judge the piece against the neighbouring size.",
        EffectUnit.STEPS,
        needs="the nominals of the neighbouring sizes",
    ),
    Cause.PANEL: Words(
        "panel swapped on one side",
        Whose.MAKERS,
        "One side of one piece is off over neighbouring girths; its other side and its lengths are not.",
        "Measure the panels of that side seam to seam.",
        EffectUnit.NM,
        plus="that side is too large",
        minus="that side is too small",
        needs="two neighbouring girths read on both sides",
    ),
    Cause.CLOTH: Words(
        "cloth shrank or stretched in one direction",
        Whose.MAKERS,
        "Lengths, or girths, are off by the same share in all pieces, and the other direction is not.",
        "Compare lengths with girths; ask for the roll of cloth.",
        EffectUnit.SHARE,
        plus="the cloth gave",
        minus="the cloth shrank",
        needs="a girth or a length among the points",
    ),
    Cause.BINDING: Words(
        "binding pulled in",
        Whose.MAKERS,
        "Bound edges are short in all pieces while the girths just below or above them are right.",
        "Compare the edge with the girth beside it.",
        EffectUnit.NM,
        plus="the edge is too long",
        minus="the edge is drawn in",
        needs="a bound edge among the points",
    ),
    Cause.WAIST_TAPE: Words(
        "waist tape set short or long",
        Whose.MAKERS,
        "The waist alone is off, in all pieces; the panels are right.",
        "Measure the waist tape inside, and the panels at the waist.",
        EffectUnit.NM,
        plus="the waist tape is too long",
        minus="the waist tape is too short",
        needs="a waist among the points",
    ),
    Cause.STACK: Words(
        "cutting stack slipped",
        Whose.MAKERS,
        "The spread grows through each bundle while the mean stays; top and bottom plies differ.",
        "Order the pieces by bundle and look again.",
        EffectUnit.TIMES_WIDER,
        needs="the place of each piece in its bundle",
    ),
    Cause.WORN: Words(
        "worn or tried on",
        Whose.HANDLING,
        "Single pieces are wide at the waist, both sides; the rest of the piece is not.",
        "Compare with the record made on arrival, or with an untouched piece.",
        EffectUnit.NM,
        plus="the waist has given",
        minus="the waist is narrower, which wear does not do",
        needs="a waist among the points",
    ),
    Cause.OLD_SPEC: Words(
        "made to an earlier spec",
        Whose.ORDERING,
        "The points that changed between two revisions are off as a block; the earlier one fits.",
        "Ask the maker which revision was cut from.",
        EffectUnit.STEPS,
        needs="an earlier revision with other nominals",
    ),
}
