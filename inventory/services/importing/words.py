"""What a line says of its piece besides figures: size, colour, reference, who measured when and with what."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from inventory.models import Instrument
from inventory.services.importing.namesakes import names_in
from inventory.services.importing.report import listed

if TYPE_CHECKING:
    from inventory.models import Spec
    from inventory.services.importing.books import Books
    from inventory.services.importing.lines import Lines
    from inventory.services.importing.namesakes import Named
    from inventory.services.importing.pieces import Pieces

_NO_TAPE: Final = Instrument()
"""Stands for an empty cell: it has no key."""


def read_words(lines: Lines, pieces: Pieces) -> None:
    """Size, colour, carton, reference; who measured when and with what."""
    pieces.reference, pieces.colour = lines.texts("reference"), lines.texts("colour")
    pieces.carton = lines.texts("carton")
    specs = [group.spec for group in pieces.groups]
    sizes = lines.texts("size")
    wanted = list(zip(pieces.group, sizes, strict=True))
    size_of, wrong = {}, {}
    for place, text in set(wanted):
        spec = specs[place]
        found = None if spec is None else lines.books.size(spec, text)
        size_of[place, text] = found or ""
        if spec is not None and found is None:
            wrong[place, text] = _no_size(lines.books, spec, text)
    for row, key in zip(lines.row, wanted, strict=True) if wrong else ():
        if key in wrong:
            lines.report.error(row, lines.label("size"), wrong[key])
    pieces.size = [size_of[key] for key in wanted]
    pieces.taken_at = lines.moments("measured_on", needed=False)
    pieces.tape = _tapes(lines)
    pieces.named = names_in(lines.texts("measured_by"), lines.books)
    pieces.by, pieces.note = _people(lines, pieces.named)
    unnamed = str(lines.importer)
    pieces.person = [name or unnamed for name in lines.texts("measured_by")]


def _no_size(books: Books, spec: Spec, text: str) -> str:
    has = listed(list(books.plans(spec).by_size), most=30)
    said = f"Size {text!r} is not in spec {spec}" if text else f"No size stands here; spec {spec} needs one"
    return f"{said}, which has {has}. Correct the size, or name another revision."


def _tapes(lines: Lines) -> list[int | None]:
    texts = lines.texts("tape")
    tape_of = lines.found(
        "tape",
        texts,
        lambda text: lines.books.tapes.get(text.casefold()) if text else _NO_TAPE,
        lambda text: f"Tape {text!r} is not entered. Enter it under instruments, or leave the column out.",
    )
    pk_of = {text: None if tape is None else tape.pk for text, tape in tape_of.items()}
    return [pk_of[text] for text in texts]


def _people(lines: Lines, named: list[Named]) -> tuple[list[int], list[str]]:
    """Who measured. A name that nobody here has is kept as a note beside the importer's."""
    names, notes = lines.texts("measured_by"), lines.texts("note")
    meant = {one.name: lines.books.people.meant(one, lines.books.who) for one in named}
    person_of = {name: (meant.get(name) or lines.importer).pk for name in set(names)}
    strangers = [one.name for one in named if meant[one.name] is None]
    unknown = [one.name for one in named if not one.is_user and not one.could_be]
    if unknown:
        lines.report.remarks.append(
            f"Not known here as people: {listed(unknown)}. Their readings are stored in your name, with a "
            "note "
            "saying who read them."
        )
    stranger = {name: f"read by {name}"[:79] if name in strangers else "" for name in person_of}
    said = {
        pair: "; ".join(part for part in (stranger[pair[0]], pair[1]) if part)
        for pair in set(zip(names, notes, strict=True))
    }
    return [person_of[name] for name in names], [said[pair] for pair in zip(names, notes, strict=True)]
