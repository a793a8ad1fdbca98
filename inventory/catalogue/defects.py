"""Defects other than size, as seen on unpacking: kinds, their usual class, and the zones.

Critical: could hurt, or breaks the law; one is enough to stop the batch. Major: fails in use, or a buyer
would return it. Minor: off standard but saleable. The class given here is the usual one, a starting point
for the person who looks (common practice, no source, unless the note says otherwise); the order may agree
on others. Never reach into a piece with bare hands before it has been swept for metal and sharp ends.
"""

from dataclasses import dataclass
from typing import Literal

from inventory.catalogue.points import COMMON_PRACTICE

Severity = Literal["critical", "major", "minor"]
ZoneCode = Literal["A", "B", "C"]

SOURCE = COMMON_PRACTICE


@dataclass(frozen=True, slots=True)
class Zone:
    """Where on the piece a defect lies; the same defect weighs less where it is not seen."""

    code: ZoneCode
    name: str
    meaning: str


@dataclass(frozen=True, slots=True)
class DefectKind:
    """One kind of defect with its usual class; ``note`` says when the class changes, or how to tell."""

    family: str
    name: str
    severity: Severity
    note: str = ""


ZONES: tuple[Zone, ...] = (
    Zone("A", "seen when worn", "Outside of the fronts, sides and back, collar and cuffs: judged strictest."),
    Zone("B", "seen off the body", "Facings, inside of the front edge, under the collar, behind the lacing."),
    Zone("C", "hidden", "Inside and covered. A defect that can hurt stays critical here too."),
)

SHARP = "sharp or foreign"
BONING = "boning"
FRONT = "busk and front"
LACING = "eyelets and lacing"
SEAMS = "seams"
EDGES = "binding and edges"
SHAPE = "shape and symmetry"
CLOTH = "cloth"
STAINS = "stains and finish"
HARDWARE = "hardware"
LABELS = "labels and packing"

DEFECT_KINDS: tuple[DefectKind, ...] = (
    DefectKind(SHARP, "needle, pin, staple or a fragment left in", "critical", "Set the whole batch aside."),
    DefectKind(SHARP, "bone end through cloth or casing", "critical", "On the skin side; outside: major."),
    DefectKind(
        SHARP, "burr on the busk; eyelet split or sharp", "critical", "On the skin side; outside: major."
    ),
    DefectKind(SHARP, "mould, infestation or bodily stain", "critical", "Bag it apart from other pieces."),
    DefectKind(SHARP, "strong chemical smell", "critical", "Air the room; keep the piece bagged."),
    DefectKind(BONING, "bone missing, or of the wrong type", "major"),
    DefectKind(BONING, "bone of the wrong length", "major", "Loose by more than 10 mm, or tight."),
    DefectKind(
        BONING, "bone tip or cap missing", "major", "Feel for the end: through the cloth is critical."
    ),
    DefectKind(BONING, "bone bent or kinked, channel twisted", "major"),
    DefectKind(BONING, "bones left and right not mirrored", "major"),
    DefectKind(BONING, "casing stitch open, bone can travel", "major"),
    DefectKind(BONING, "bone rattles, channel slightly wavy", "minor"),
    DefectKind(FRONT, "loops and studs do not meet", "major", "More than 2 mm apart."),
    DefectKind(FRONT, "stud loose", "major"),
    DefectKind(FRONT, "front plates not level at the top", "major", "More than 3 mm."),
    DefectKind(FRONT, "busk upside down or wrong side over", "major"),
    DefectKind(FRONT, "gap in the closed front", "major", "More than 3 mm; a short, slight gap: minor."),
    DefectKind(FRONT, "placket or facing rolls out", "minor", "Major if it pinches."),
    DefectKind(LACING, "eyelet missing, loose or pulled out", "major", "General trade: missing is major."),
    DefectKind(LACING, "cloth cut round an eyelet", "major", "It will tear out under load."),
    DefectKind(LACING, "washer missing, rust, plating flakes", "major"),
    DefectKind(LACING, "eyelet rows uneven, or pitch irregular", "major", "Pitch by more than 2 mm."),
    DefectKind(LACING, "lace too short", "major", "It should let the piece open fully."),
    DefectKind(LACING, "lace frayed or without tips", "minor"),
    DefectKind(LACING, "modesty panel missing, off centre or narrow", "major", "Slightly off centre: minor."),
    DefectKind(SEAMS, "seam open, skipped, broken or slipping", "major"),
    DefectKind(SEAMS, "seam allowance too narrow in a loaded seam", "major", "Under 5 mm."),
    DefectKind(
        SEAMS, "stitches too long in a loaded seam", "major", "Count per 30 mm; compare with the spec."
    ),
    DefectKind(SEAMS, "waist tape missing, loose or at a wrong height", "major"),
    DefectKind(SEAMS, "seam puckered, twisted or not pressed", "minor", "Major where it shows or twists."),
    DefectKind(SEAMS, "loose thread ends", "minor"),
    DefectKind(EDGES, "binding not caught, raw edge", "major", "Short and hidden: minor."),
    DefectKind(
        EDGES, "edge wavy", "minor", "More than 3 mm in 30 cm: off first grade in a corsetry standard."
    ),
    DefectKind(EDGES, "corners do not match at front or back", "minor", "More than 3 mm: major."),
    DefectKind(SHAPE, "panels swapped or mirrored", "major"),
    DefectKind(SHAPE, "one side longer than the other", "major"),
    DefectKind(SHAPE, "stripe, pattern or lace not matched", "minor", "Major in zone A."),
    DefectKind(CLOTH, "hole, cut or tear", "major", "General trade."),
    DefectKind(CLOTH, "slub or mispick", "minor", "Major in zone A."),
    DefectKind(CLOTH, "shade differs between panels or parts", "major", "Minor outside zone A."),
    DefectKind(CLOTH, "pile or nap reversed in a panel", "major"),
    DefectKind(CLOTH, "cloth skewed or bowed", "major", "More than 25 mm; general trade."),
    DefectKind(CLOTH, "snag or pulled thread", "minor", "Major in zone A if it will run."),
    DefectKind(STAINS, "oil, chalk, glue or rust mark", "major", "Minor where hidden."),
    DefectKind(STAINS, "scorch, shine or press mark", "major", "Slight, outside zone A: minor."),
    DefectKind(STAINS, "smell: damp, smoke or solvent", "major", "With mould: critical."),
    DefectKind(HARDWARE, "zip sticks, hook out of line", "major"),
    DefectKind(HARDWARE, "button loose or missing", "major", "A small part loose can be swallowed."),
    DefectKind(HARDWARE, "garter tab missing or wrong", "major"),
    DefectKind(LABELS, "size label differs from the size measured", "major"),
    DefectKind(
        LABELS, "fibre, care, origin or maker details missing or wrong", "major", "May breach local law."
    ),
    DefectKind(LABELS, "wrong ticket, wrong colour in the bag", "major"),
    DefectKind(LABELS, "damaged pack", "minor"),
    DefectKind(LABELS, "desiccant leaked", "major"),
    DefectKind(
        LABELS, "bag without suffocation warning or holes", "critical", "Where local law asks for them."
    ),
)
