"""One part of an uncertainty budget, and where it comes from."""

import math
from dataclasses import dataclass
from enum import StrEnum

from inventory.calc.errors import ImpossibleInput


class Known(StrEnum):
    """How a part is known: from readings of one's own (type A), or otherwise (type B)."""

    A = "A"
    B = "B"

    @property
    def label(self) -> str:
        """The type in words."""
        return "from our own readings" if self is Known.A else "from a class, a statement or experience"


class Distribution(StrEnum):
    """The shape a part is thought to have, and by what a half-width is divided to give its u."""

    NORMAL = "normal"
    STUDENT = "student"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"

    @property
    def label(self) -> str:
        """The shape in words."""
        return {
            "normal": "bell curve",
            "student": "bell curve, from few readings",
            "rectangular": "anywhere between two bounds",
            "triangular": "between two bounds, the middle more likely",
        }[self.value]

    def u_from_half_width(self, half_width_nm: float) -> float:
        """Standard uncertainty (nm) of a value only known to lie within ±half-width (GUM 4.3.7, 4.3.9).

        From memory. Raises ImpossibleInput for a bell curve, which has no bounds, and below zero.

        >>> round(Distribution.RECTANGULAR.u_from_half_width(500_000.0))
        288675
        """
        divisors = {Distribution.RECTANGULAR: math.sqrt(3), Distribution.TRIANGULAR: math.sqrt(6)}
        if self not in divisors:
            raise ImpossibleInput("shape", f"a {self.label}, which has no bounds", "Give its SD instead")
        if not 0 <= half_width_nm < math.inf:
            raise ImpossibleInput("half-width", f"{half_width_nm} nm", "Give zero or more")
        return half_width_nm / divisors[self]


@dataclass(frozen=True, slots=True)
class Component:
    """A part: name, standard uncertainty (nm), where it comes from; `dof` None: known well.

    `sensitivity` is by how much the result changes for a change of one in this part (0: it cancels).
    Raises ImpossibleInput for a name left empty, a u below zero or not a number, and dof not above zero.
    """

    name: str
    u_nm: float
    source: str
    dof: float | None = None
    distribution: Distribution = Distribution.NORMAL
    sensitivity: float = 1.0
    known: Known = Known.B

    def __post_init__(self) -> None:
        if not self.name.strip():
            raise ImpossibleInput("name of a part", "empty", "Say what the part is")
        if not 0 <= self.u_nm < math.inf:
            raise ImpossibleInput(f"uncertainty of {self.name}", f"{self.u_nm} nm", "Give zero or more")
        if not math.isfinite(self.sensitivity):
            raise ImpossibleInput(f"sensitivity of {self.name}", self.sensitivity, "Give a number")
        if self.dof is not None and not 0 < self.dof < math.inf:
            raise ImpossibleInput(
                f"degrees of freedom of {self.name}",
                self.dof,
                "Give a number above zero, or none if known well",
            )

    @property
    def contribution_nm(self) -> float:
        """What the part adds to the result: |sensitivity|·u (nm)."""
        return abs(self.sensitivity) * self.u_nm
