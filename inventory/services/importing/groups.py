"""Which pieces belong together: maker, order, arrival and style of each line."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from inventory.models import Maker, Spec, Style
    from inventory.services.importing.books import Books
    from inventory.services.importing.lines import Lines


@dataclass(frozen=True, slots=True)
class Group:
    """The pieces of one style in one delivery: what becomes a batch. None only beside a reported error."""

    maker: Maker | None
    order: str
    arrived_on: dt.datetime
    style: Style | None
    spec: Spec | None
    cutting: str

    @property
    def judged_by(self) -> Spec:
        """The spec, once the file is known to have no error."""
        assert self.spec is not None
        return self.spec


def group_lines(lines: Lines) -> tuple[list[int], list[Group]]:
    """For each line the place of its group, and the groups in the order of the file."""
    books, target = lines.books, lines.mapping.target
    makers = lines.texts("maker", target.maker)
    styles = lines.texts("style", target.style)
    revisions = lines.texts("revision", target.revision)
    maker_of = lines.found("maker", makers, lambda text: books.makers.get(text.casefold()), _no_maker)
    style_of = lines.found("style", styles, lambda text: books.styles.get(text.casefold()), _no_style)
    spec_of = _specs(lines, list(zip(styles, revisions, strict=True)))
    orders = lines.texts("order", target.order)
    if "" in orders:
        lines.report.error(
            lines.row[orders.index("")],
            lines.label("order"),
            f"{orders.count('')} rows name no order. Type its reference, or choose one for the whole file.",
        )
    arrivals = lines.moments("arrived_on", needed=True)
    if lines.cells("arrived_on") is None:
        arrivals = _fixed_arrival(lines)
    places: dict[tuple[str, str, str, str, dt.datetime | None, str], int] = {}
    group_of = [
        places.setdefault(key, len(places))
        for key in zip(makers, styles, revisions, orders, arrivals, lines.texts("cutting"), strict=True)
    ]
    groups = [
        Group(
            maker=maker_of[maker],
            order=order,
            arrived_on=arrived or lines.at,
            style=style_of[style],
            spec=spec_of.get((style, revision)),
            cutting=cutting,
        )
        for maker, style, revision, order, arrived, cutting in places
    ]
    return group_of, groups


def _specs(lines: Lines, pairs: list[tuple[str, str]]) -> dict[tuple[str, str], Spec | None]:
    """The spec of each style and revision named; a style that is unknown was complained of already."""
    books = lines.books
    known = {pair for pair in set(pairs) if pair[0].casefold() in books.styles}
    spec_of = {pair: books.spec(books.styles[pair[0].casefold()], pair[1]) for pair in known}
    for pair, spec in spec_of.items():
        if spec is None:
            sentence = f"{_no_spec(books, *pair)} ({pairs.count(pair)} rows)"
            lines.report.error(lines.row[pairs.index(pair)], lines.label("revision"), sentence)
    return spec_of


def _fixed_arrival(lines: Lines) -> list[dt.datetime | None]:
    moment = lines.moment(lines.mapping.target.arrived_on)
    if isinstance(moment, str):
        lines.report.error(
            0, "arrived on", moment or "No arrival date. Choose one, or the column that holds it."
        )
        return [None] * len(lines)
    return [moment] * len(lines)


def _no_maker(text: str) -> str:
    return (
        f"Maker {text!r} is not entered. Enter the maker first, or correct the name."
        if text
        else "No maker is named. Choose one for the file, or the column that names it."
    )


def _no_style(text: str) -> str:
    return (
        f"Style {text!r} is not entered. Enter the style first, or correct the code."
        if text
        else "No style is named. Choose one for the file, or the column that names it."
    )


def _no_spec(books: Books, style: str, revision: str) -> str:
    known = books.revisions(books.styles[style.casefold()])
    has = (
        f"It has {listed([str(number) for number in known])}." if known else "It has none that was in force."
    )
    if revision:
        return f"Style {style} has no revision {revision!r} that was in force. {has}"
    return (
        f"Style {style} has no spec in force, so nothing could judge its pieces. {has} Name one, or put one "
        "in "
        "force."
    )
