"""The drawing of a family with the points one wants on it, ready for a page."""

from __future__ import annotations

from collections.abc import Iterable

from django.utils.safestring import SafeString

from inventory.catalogue import drawing


def drawn(family: str, codes: Iterable[str], *, active: str | None = None) -> SafeString:
    """The family's SVG; points the drawing does not show, such as a shop's own, are left out of it."""
    shown = drawing.drawn_codes(family).intersection(codes)
    marked = active if active in shown else None
    # The text is our own file, put together by an XML writer that escapes what it is given.
    return SafeString(drawing.render(family, active=marked, codes=shown))


def is_drawn(family: str, code: str) -> bool:
    """Whether the family's drawing has a place for this point."""
    return code in drawing.drawn_codes(family)
