"""How rows of an export name one another: by what people see, such as a maker's code or a piece's number."""

from __future__ import annotations

from typing import Final

from inventory.services.exporting.columns import RefSpec


def person(field: str) -> RefSpec:
    """A person by the sign-in name."""
    return field, "people", ((field, f"{field}__username"),)


def rule(field: str) -> RefSpec:
    """A decision rule by code and version."""
    return field, "rules", ((field, f"{field}__code"), (f"{field}_version", f"{field}__version"))


def maker(field: str = "maker") -> RefSpec:
    """A maker by its code."""
    return field, "makers", ((field, f"{field}__code"),)


def style(path: str = "style") -> RefSpec:
    """A style by its code."""
    return path, "styles", (("style", f"{path}__code"),)


def spec(path: str = "spec") -> RefSpec:
    """A spec by style and revision."""
    return path, "specs", (("style", f"{path}__style__code"), ("revision", f"{path}__revision"))


def instrument(field: str = "instrument") -> RefSpec:
    """A tape or rule by its number."""
    return field, "instruments", ((field, f"{field}__number"),)


def point(field: str = "point", *, style: str = "style") -> RefSpec:
    """A point by its own style and its code; `style` is the name of the first column."""
    return field, "points", ((style, f"{field}__style__code"), ("point", f"{field}__code"))


SITTING: Final = ("inspection", "inspections", (("inspection", "inspection"),))
PIECE: Final = ("piece", "pieces", (("piece", "piece__number"),))
BATCH: Final = ("batch", "batches", (("batch", "batch__number"),))
DELIVERY: Final = ("delivery", "deliveries", (("delivery", "delivery__number"),))
