"""Which pieces belong together: maker, order, arrival and style of each line.

Without a destination every maker, order and arrival of a file becomes a delivery, and every style in it a
batch. With one, the pieces go into that delivery or batch; what a column says must agree with it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from django.utils import timezone

from inventory.models import Batch, Delivery
from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from inventory.models import Maker, Spec, Style
    from inventory.services.importing.books import Books
    from inventory.services.importing.lines import Lines


@dataclass(frozen=True, slots=True)
class Group:
    """The pieces of one style in one delivery: what becomes a batch. None only beside a reported error.

    `delivery` and `batch` are those that the pieces are added to; None where new ones are made.
    """

    maker: Maker | None
    order: str
    arrived_on: dt.datetime
    style: Style | None
    spec: Spec | None
    cutting: str
    delivery: Delivery | None = None
    batch: Batch | None = None
    arrival_said: bool = True
    """False where no arrival is known: `arrived_on` only holds the place then, beside a reported error."""

    @property
    def judged_by(self) -> Spec:
        """The spec, once the file is known to have no error."""
        assert self.spec is not None
        return self.spec


@dataclass(frozen=True, slots=True)
class _Usual:
    """What holds for a line that does not say it."""

    maker: str
    style: str
    revision: str
    order: str
    arrived_on: dt.datetime | None = None


def group_lines(lines: Lines) -> tuple[list[int], list[Group]]:
    """For each line the place of its group, and the groups in the order of the file."""
    into = lines.books.destination(lines.mapping.target.into)
    if lines.mapping.target.into and into is None:
        lines.report.error(
            0,
            "where to",
            f"There is no delivery or batch {lines.mapping.target.into!r}. Choose another place.",
        )
    group_of, groups, first = _groups(lines, _usual(lines, into))
    if isinstance(into, Delivery):
        for place, group in enumerate(groups):
            _check_delivery(lines, group, into, row=lines.row[first[place]])
        return group_of, [
            replace(
                one,
                maker=into.maker,
                order=into.order_reference,
                arrived_on=into.arrived_at,
                delivery=into,
                arrival_said=True,
            )
            for one in groups
        ]
    if isinstance(into, Batch):
        for place, group in enumerate(groups):
            _check_delivery(lines, group, into.delivery, row=lines.row[first[place]])
            _check_batch(lines, group, into, row=lines.row[first[place]])
        return [0] * len(lines), [_of_batch(into)]
    return group_of, groups


def _groups(lines: Lines, usual: _Usual) -> tuple[list[int], list[Group], list[int]]:
    """As `group_lines`, with the first line of each group, by what the lines say and what is usual."""
    books = lines.books
    makers, styles = _said(lines, "maker", usual.maker), _said(lines, "style", usual.style)
    revisions, orders = _said(lines, "revision", usual.revision), _said(lines, "order", usual.order)
    maker_of = lines.found("maker", makers, lambda text: books.makers.get(text.casefold()), _no_maker)
    style_of = lines.found("style", styles, lambda text: books.styles.get(text.casefold()), _no_style)
    spec_of = _specs(lines, list(zip(styles, revisions, strict=True)))
    if "" in orders:
        lines.report.error(
            lines.row[orders.index("")],
            lines.label("order"),
            f"{orders.count('')} rows name no order. Type its reference, or choose one for the whole file.",
        )
    arrivals = _arrivals(lines, usual)
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
            arrival_said=arrived is not None,
        )
        for maker, style, revision, order, arrived, cutting in places
    ]
    first: dict[int, int] = {}
    for line, place in enumerate(group_of):
        first.setdefault(place, line)
    return group_of, groups, [first[place] for place in range(len(groups))]


def _usual(lines: Lines, into: Delivery | Batch | None) -> _Usual:
    target = lines.mapping.target
    if into is None:
        return _Usual(target.maker, target.style, target.revision, target.order)
    delivery = into.delivery if isinstance(into, Batch) else into
    style, revision = (
        (into.style.code, str(into.spec.revision))
        if isinstance(into, Batch)
        else (target.style, target.revision)
    )
    return _Usual(delivery.maker.code, style, revision, delivery.order_reference, delivery.arrived_at)


def _said(lines: Lines, role: str, usual: str) -> list[str]:
    """What each line says; with a destination an empty cell means what holds there."""
    texts = lines.texts(role, usual)
    return [text or usual for text in texts] if lines.mapping.target.into else texts


def _arrivals(lines: Lines, usual: _Usual) -> Sequence[dt.datetime | None]:
    if usual.arrived_on is not None:
        return [arrived or usual.arrived_on for arrived in lines.moments("arrived_on", needed=False)]
    if lines.cells("arrived_on") is None:
        return _fixed_arrival(lines)
    return lines.moments("arrived_on", needed=True)


def _of_batch(batch: Batch) -> Group:
    return Group(
        maker=batch.delivery.maker,
        order=batch.delivery.order_reference,
        arrived_on=batch.delivery.arrived_at,
        style=batch.style,
        spec=batch.spec,
        cutting=batch.cutting_reference,
        delivery=batch.delivery,
        batch=batch,
    )


def _check_delivery(lines: Lines, group: Group, delivery: Delivery, *, row: int) -> None:
    """What the lines of a group say of maker, order and arrival must be what the delivery says."""
    if group.maker is not None and group.maker != delivery.maker:
        has = (delivery.label, delivery.maker.code)
        _disagree(lines, "maker", row, said=f"maker {group.maker.code}", has=has)
    if group.order.casefold() != delivery.order_reference.casefold():
        has = (delivery.label, delivery.order_reference)
        _disagree(lines, "order", row, said=f"order {group.order}", has=has)
    arrived, known = timezone.localdate(group.arrived_on), timezone.localdate(delivery.arrived_at)
    if arrived != known:
        _disagree(lines, "arrived_on", row, said=f"arrival {arrived}", has=(delivery.label, str(known)))


def _check_batch(lines: Lines, group: Group, batch: Batch, *, row: int) -> None:
    if group.style is not None and group.style != batch.style:
        has = (batch.label, batch.style.code)
        _disagree(lines, "style", row, said=f"style {group.style.code}", has=has)
    elif group.spec is not None and group.spec != batch.spec:
        _disagree(lines, "revision", row, said=f"spec {group.spec}", has=(batch.label, str(batch.spec)))


def _disagree(lines: Lines, role: str, row: int, *, said: str, has: tuple[str, str]) -> None:
    lines.report.error(
        row,
        lines.label(role),
        f"This row names {said}, but {has[0]} has {has[1]}. Correct one of them, leave the column out, or "
        "choose another place for the pieces.",
    )


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
