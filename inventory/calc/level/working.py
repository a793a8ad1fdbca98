"""A calculation at the bench that can be kept with the reading and shown line by line."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from inventory.calc.errors import ImpossibleInput
from inventory.calc.length import Display, show, show_uncertainty

METHOD = "level/1"


class WorkingKind(StrEnum):
    """Which helper made it."""

    SLANT = "slant"
    EDGE = "edge"
    WAIST_LINE = "waist line"
    LEVEL = "level"
    PANELS = "panels"


class Outcome(StrEnum):
    """What the helper concluded; ``FOUND`` where there was only something to work out."""

    FOUND = "found"
    AGREE = "agree"
    DIFFER = "differ"
    CANNOT_TELL = "cannot tell"
    STRAIGHT = "straight"
    ALONG = "along the edge"
    NEITHER = "neither"


@dataclass(frozen=True, slots=True)
class Given:
    """One length that went in (nm), under its name."""

    name: str
    nm: int


@dataclass(frozen=True, slots=True)
class Working:
    """What went in, how it was reckoned in words, what came out (nm) with its standard uncertainty (nm).

    ``result`` names what came out. ``u_nm`` is rounded up to whole nanometres.
    """

    kind: WorkingKind
    given: tuple[Given, ...]
    formula: str
    result: str
    result_nm: int
    u_nm: int
    outcome: Outcome
    sentence: str

    def as_document(self) -> dict[str, Any]:  # Any: JSON
        """As JSON values, to be kept with the reading."""
        return {
            "method": METHOD,
            "kind": self.kind.value,
            "given": [[given.name, given.nm] for given in self.given],
            "formula": self.formula,
            "result": self.result,
            "result_nm": self.result_nm,
            "u_nm": self.u_nm,
            "outcome": self.outcome.value,
            "sentence": self.sentence,
        }

    def lines(self, display: Display) -> tuple[str, ...]:
        """Step by step, in the shop's unit: each length that went in, the formula, the result, the end."""
        found = f"{self.result}: {show(self.result_nm, display)}"
        if self.u_nm:
            found += f", standard uncertainty {show_uncertainty(self.u_nm, display)}"
        return (
            *(f"{given.name}: {show(given.nm, display)}" for given in self.given),
            self.formula,
            found,
            self.sentence,
        )


def read_working(document: Mapping[str, Any]) -> Working:  # Any: JSON
    """A working that was kept; refuses one that was made by a method not known here."""
    method = document.get("method")
    if method != METHOD:
        raise ImpossibleInput("method of the working", f'"{method}"', f'Only "{METHOD}" can be read')
    return Working(
        kind=WorkingKind(document["kind"]),
        given=tuple(Given(name, nm) for name, nm in document["given"]),
        formula=document["formula"],
        result=document["result"],
        result_nm=document["result_nm"],
        u_nm=document["u_nm"],
        outcome=Outcome(document["outcome"]),
        sentence=document["sentence"],
    )


def whole_u(u_nm: float, thing: str = "uncertainty") -> int:
    """A standard uncertainty in whole nanometres, rounded up; refuses one that cannot be."""
    if not 0 <= u_nm < math.inf:
        raise ImpossibleInput(thing, f"{u_nm} nm", "Give zero or more")
    return math.ceil(u_nm)
