"""What a column can mean, and the guess from its name.

A role is a short text, kept in the run's mapping: a word for what belongs to the piece (`reference`, `size`),
`point:WA:L` for the readings of one point and side, `size:24` for the nominals of one size. Empty: left out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from inventory.calc.length import Unit

PIECE_ROLES: Final[Mapping[str, str]] = {
    "reference": "Piece reference",
    "size": "Size on the label",
    "colour": "Colour",
    "carton": "Carton",
    "measured_on": "Measured on",
    "measured_by": "Measured by",
    "tape": "Tape",
    "maker": "Maker",
    "style": "Style",
    "order": "Order reference",
    "arrived_on": "Arrived on",
    "revision": "Spec revision",
    "cutting": "Cutting reference",
    "note": "Note on the readings",
}
LONG_ROLES: Final[Mapping[str, str]] = {
    "point": "Point (code or name)",
    "side": "Side",
    "reading": "Reading",
    "unit": "Unit of the reading",
}
SPEC_ROLES: Final[Mapping[str, str]] = {
    "point": "Point (code or name)",
    "basis": "What the tolerance is for (half or full)",
    "minus": "Tolerance minus",
    "plus": "Tolerance plus",
    "tolerance": "Tolerance, both sides",
    "pair_limit": "Left-right limit",
    "step": "Grade step",
}
SPEC_LONG_ROLES: Final[Mapping[str, str]] = {"size": "Size", "nominal": "Nominal"}

ONCE_ONLY: Final = {*PIECE_ROLES, *LONG_ROLES, *SPEC_ROLES, *SPEC_LONG_ROLES} - {"note"}

_WORDS: Final[Mapping[str, str]] = {
    "reference": "reference|ref|piece|piece reference|piece ref|piece no|piece number|piece id|no|nr|number"
    "|garment|garment no|id|label|tag|serial|serial no",
    "size": "size|label size|size label|size on the label|labelled size|sz",
    "colour": "colour|color|shade|colourway|col",
    "carton": "carton|carton no|carton number|box|box no|ctn",
    "measured_on": "measured on|measured|date measured|measuring date|date|measured at|inspected on|day",
    "measured_by": "measured by|by|inspector|who|checked by|name|measurer|person",
    "tape": "tape|tape no|tape number|instrument|measured with",
    "maker": "maker|maker code|workshop|supplier|factory|made by|sewn by",
    "style": "style|style code|style no|model|article|article no",
    "order": "order|order reference|order ref|order no|order number|po|po no|po number|purchase order",
    "arrived_on": "arrived on|arrived|arrival|arrival date|delivery date|date arrived|received|received on"
    "|delivered",
    "revision": "revision|spec revision|rev|spec rev|spec",
    "cutting": "cutting|cutting reference|cutting no|bundle|bundle no|cutting ref",
    "note": "note|notes|remark|remarks|comment|comments",
    "point": "point|point of measure|pom|code|point code|measure|measurement|measuring point",
    "side": "side|left right|l r",
    "reading": "reading|value|figure|measured value|length|result",
    "unit": "unit|units|uom",
    "basis": "basis|tolerance for|tolerance basis|half or full|per|tolerance applies to",
    "minus": "minus|tol minus|tolerance minus|tol|lower|lower tolerance|minus tolerance",
    "plus": "plus|tol plus|tolerance plus|upper|upper tolerance|plus tolerance",
    "tolerance": "tolerance|tol|tolerance plus minus|plus minus|allowance",
    "pair_limit": "left right limit|pair limit|asymmetry|asymmetry limit|left right|l r limit"
    "|max difference left right",
    "step": "step|grade step|grade|grading|increment",
    "nominal": "nominal|spec|target|value|figure|length",
}
_BY_WORD: Final = {
    role: frozenset(words.split("|")) for role, words in _WORDS.items()
}  # fmt: skip
_SIDES: Final = {"l": "L", "left": "L", "lh": "L", "r": "R", "right": "R", "rh": "R", "single": "S", "s": "S"}
_UNITS: Final = {
    "mm": Unit.MM, "millimetres": Unit.MM, "millimeters": Unit.MM,
    "cm": Unit.CM, "centimetres": Unit.CM, "centimeters": Unit.CM,
    "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH, "ins": Unit.INCH,
}  # fmt: skip
_MOST_NEAR: Final = 4
_FILLERS: Final = frozenset({"half", "of", "the", "reading", "measured", "side", "point", "try", "at"})


@dataclass(frozen=True, slots=True)
class KnownPoint:
    """A point a column may hold readings of."""

    code: str
    name: str
    sides: tuple[str, ...]


def words_of(label: str) -> str:
    """A column's name without case, signs and doubled spaces; + and − and ± are spelled out.

    >>> words_of("  WA_L (cm) "), words_of("Tol. −")
    ('wa l cm', 'tol minus')
    """
    text = label.casefold().replace("±", " tolerance ").replace("+/-", " tolerance ")
    if re.search(r"(^|\s)(tol\S*)?\s*\(?[-−–]\)?\s*$", text):
        text = re.sub(r"[-−–]\)?\s*$", " minus", text)
    text = re.sub(r"\(?\+\)?\s*$", " plus", text)
    return " ".join(re.findall(r"[^\W_]+", text))


def unit_in(label: str) -> str:
    """The unit a column's name states, or an empty text.

    >>> unit_in("Waist left (cm)"), unit_in("WA L in"), unit_in("Waist in front")
    ('cm', 'in', '')
    """
    words = words_of(label).split()
    found = {_UNITS[word].value for word in words[-1:] if word in _UNITS}
    found |= {
        _UNITS[word].value
        for word in re.findall(r"[(\[]\s*([a-z]+)\s*[)\]]", label.casefold())
        if word in _UNITS
    }
    return found.pop() if len(found) == 1 else ""


def side_of(text: str) -> str:
    """The side code a word stands for, or an empty text.

    >>> side_of("Left"), side_of("r."), side_of("front")
    ('L', 'R', '')
    """
    return _SIDES.get(words_of(text), "")


def guess_word(label: str, roles: Sequence[str]) -> str:
    """The role whose usual names include this label, among those allowed."""
    words = words_of(label)
    return next((role for role in roles if words in _BY_WORD[role] or words == words_of(role)), "")


class PointGuesser:
    """Finds the point, side and repeat a column's name speaks of."""

    def __init__(self, points: Sequence[KnownPoint]) -> None:
        self._by_code = {words_of(point.code).replace(" ", ""): point for point in points}
        self._by_words: dict[frozenset[str], KnownPoint | None] = {}
        self._codes: dict[frozenset[str], list[str]] = {}
        for point in points:
            words = frozenset(_plain(words_of(point.name).split()))
            self._codes.setdefault(words, []).append(point.code)
            known = self._by_words.get(words, point)
            # Two points of the same words, in different styles, are no guess.
            self._by_words[words] = point if known is not None and known.code == point.code else None

    def point(self, label: str) -> KnownPoint | None:
        """The point meant by a code or a name, side words aside."""
        return self._find(words_of(label).split())

    def could_be(self, label: str) -> list[str]:
        """The codes of all points of this very name, else of the few whose names have its words in them.

        Side and unit words are left aside.
        """
        words = [word for word in words_of(label).split() if word not in _SIDES and word not in _UNITS]
        wanted = frozenset(_plain(words))
        if not wanted or wanted in self._codes:
            return self._codes.get(wanted, [])
        near = [code for known, codes in self._codes.items() if wanted <= known for code in codes]
        return near if len(near) <= _MOST_NEAR else []

    def role(self, label: str) -> str:
        """`point:WA:L` for the label of a column of readings, or an empty text."""
        words = words_of(label).split()
        if len(words) > 1 and words[-1] in _UNITS:
            words.pop()
        words = [word for word in words if not (word.isdigit() and len(words) > 1)]
        sides = [_SIDES[word] for word in words if word in _SIDES]
        rest = [word for word in words if word not in _SIDES] or words
        point = self._find(rest)
        if point is None and len(words) == 1 and words[0][-1:] in ("l", "r"):
            point, sides = self._by_code.get(words[0][:-1]), [words[0][-1].upper()]
        if point is None:
            return ""
        if not sides and len(point.sides) == 1:
            sides = list(point.sides)
        return f"point:{point.code}:{sides[0]}" if len(set(sides)) == 1 and sides[0] in point.sides else ""

    def _find(self, words: Sequence[str]) -> KnownPoint | None:
        found = self._by_code.get("".join(words))
        if found is not None:
            return found
        for word in words:
            if len(word) > 1 and word in self._by_code:
                return self._by_code[word]
        wanted = frozenset(_plain(words))
        if not wanted:
            return None
        if wanted in self._by_words:
            return self._by_words[wanted]
        near = {point.code: point for known, point in self._by_words.items() if point and wanted <= known}
        return next(iter(near.values())) if len(near) == 1 else None


def _plain(words: Sequence[str]) -> list[str]:
    return [word for word in words if word not in _FILLERS]
