"""What holds for the words of any point, in a style or in the catalogue."""

from __future__ import annotations

import re
from typing import TypedDict

from inventory.calc.length import Unit, show_exact
from inventory.models.points import PointWords
from inventory.services.refusals import Refused

CODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9-]{0,11}")


class PointCodeTaken(Refused):
    """Two points of one style cannot share a code."""


class PointCodeNotUsable(Refused):
    """A code is short and plain: it heads columns of files and sheets."""


class PeopleAgreeTooWell(Refused):
    """Two people cannot agree better than one person with herself."""


class PointValues(TypedDict, total=False):
    """The words of a point and its default reading error; see the model's fields."""

    code: str
    name: str
    measured_from: str
    measured_to: str
    path: str
    level: str
    state: str
    face: str
    kind: str
    sides: str
    pitfalls: str
    informational: bool
    same_person_sd_nm: int
    two_people_sd_nm: int
    height_nm: int | None
    height_u_nm: int | None
    state_u_nm: int | None
    seams_crossed: int | None
    cloth_direction: str
    edge_bound: bool
    is_secondary: bool


def check_code(point: PointWords, same: PointWords | None) -> None:
    """Raise `PointCodeNotUsable`, or `PointCodeTaken` when `same` is another point with this code."""
    if not CODE.fullmatch(point.code):
        raise PointCodeNotUsable(
            f"Code {point.code!r} cannot head a column. "
            "Use up to 12 letters, digits and hyphens, such as WA or PN-3.",
            field="code",
        )
    if same is not None and same.pk != point.pk:
        raise PointCodeTaken(
            f"Code {point.code!r} belongs to {same.name!r}. Type another code.", field="code"
        )


def check_reading_error(point: PointWords) -> None:
    """Raise `PeopleAgreeTooWell` when the two planning values contradict each other."""
    same, two = point.same_person_sd_nm, point.two_people_sd_nm
    if same < 0 or two < same:
        one_shown, two_shown = show_exact(same, unit=Unit.MM), show_exact(two, unit=Unit.MM)
        raise PeopleAgreeTooWell(
            f"The spread of two people is {two_shown}, that of one person {one_shown}. "
            "Two people cannot agree better than one with herself: give at least the same.",
            field="two_people_sd_nm",
        )
