"""Two years of measuring as people keep it in one workbook: every kind of mess, from one seed.

Invented figures of an invented shop. `make(seed)` returns the workbook and what is wrong in it, row by row,
so that a test can ask whether the import found all of it and nothing else. `make(seed, grave=False)` leaves
what a program can understand (title lines, merged headers, blank lines, totals, notes, other spellings, typed
units) and takes out what only a person can mend.
"""

from __future__ import annotations

import datetime as dt
import io
import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

SIZES = ("20", "22", "24", "26", "28")
POINTS = (
    ("UB", "Underbust", 380),
    ("WA", "Waist", 330),
    ("HH", "High hip", 420),
    ("CF", "Centre front", 300),
)
STYLES = ("ivy", "rook")
MAKERS = ("tern", "wren", "finch")
STEP_MM = 25
FIRST_DATA_ROW = 7


@dataclass
class Truth:
    """What stands in the workbook: counts, and the rows with something wrong by kind."""

    pieces: int = 0
    readings: int = 0
    deliveries: int = 0
    left_out: int = 0
    wrong: dict[str, list[int]] = field(default_factory=dict)
    slips: list[int] = field(default_factory=list)
    other_size: list[int] = field(default_factory=list)

    def note(self, kind: str, row: int) -> None:
        self.wrong.setdefault(kind, []).append(row)

    @property
    def wrong_rows(self) -> set[int]:
        return {row for rows in self.wrong.values() for row in rows}


def nominal_mm(point: int, size: str) -> int:
    """The nominal half of a point, the same in both styles."""
    return POINTS[point][2] + STEP_MM * SIZES.index(size)


def make(seed: int = 1, *, pieces: int = 2_000, grave: bool = True) -> tuple[bytes, Truth]:
    """The workbook's bytes and the truth about it."""
    rnd = random.Random(seed)
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "all deliveries"
    truth = Truth()
    _head(sheet)
    writer = _Writer(sheet, rnd, truth, grave=grave)
    day = dt.date(2024, 1, 8)
    while truth.pieces < pieces:
        writer.delivery(day, pieces=min(rnd.randrange(24, 60), pieces - truth.pieces))
        day += dt.timedelta(days=rnd.randrange(7, 16))
    book.create_sheet("old notes").append(["ask about the lacing"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue(), truth


def _head(sheet: Worksheet) -> None:
    sheet.append(["Measuring book, all deliveries"])
    sheet.append(["all figures in cm"])
    sheet.append([])
    sheet.append([])
    names = ["Maker", "Style", "PO", "Arrived", "Piece no.", "Size", "Colour", "Measured", "By"]
    sheet.append([*names, *(cell for _, name, _ in POINTS for cell in (name, None)), "Remarks"])
    sheet.append([*[None] * len(names), *(side for _ in POINTS for side in ("left", "right")), None])
    for place in range(len(POINTS)):
        column = len(names) + 1 + 2 * place
        sheet.merge_cells(start_row=5, end_row=5, start_column=column, end_column=column + 1)


class _Writer:
    """Writes delivery after delivery and notes what it did wrong on purpose."""

    def __init__(self, sheet: Worksheet, rnd: random.Random, truth: Truth, *, grave: bool) -> None:
        self.sheet, self.rnd, self.truth, self.grave = sheet, rnd, truth, grave
        self.row = FIRST_DATA_ROW - 1
        self.number = 0

    def line(self, cells: Sequence[object]) -> int:
        self.sheet.append(list(cells))
        self.row += 1
        return self.row

    def delivery(self, day: dt.date, *, pieces: int) -> None:
        rnd, truth = self.rnd, self.truth
        truth.deliveries += 1
        order = f"PO-{truth.deliveries:03d}"
        maker, style = rnd.choice(MAKERS), rnd.choice(STYLES)
        shift = rnd.choice((0, 0, 0, 2, -2))
        for place in range(pieces):
            first = [maker.title() if rnd.random() < 0.5 else maker, style, order, _date(rnd, day)]
            # Said once at the top of the delivery, as people do.
            self.piece(first if place == 0 else [None] * 4, day, order=order, shift=shift)
            if rnd.random() < 0.01:
                self.line([])
            if rnd.random() < 0.01:
                truth.left_out += 1
                self.line([None] * 6 + ["after lunch, other table"])
        truth.left_out += 1
        self.line([None] * 4 + ["Total", None, f"{pieces} pcs"])
        if rnd.random() < 0.3:
            truth.left_out += 1
            self.line(_HEADER_AGAIN)
        self.line([])

    def piece(self, first: Sequence[object], day: dt.date, *, order: str, shift: int) -> None:
        rnd, truth = self.rnd, self.truth
        self.number += 1
        truth.pieces += 1
        size = rnd.choice(SIZES)
        # Now and then the label of the next size is sewn in.
        made_as = rnd.choice(SIZES) if rnd.random() < 0.01 else size
        if made_as != size:
            truth.other_size.append(self.row + 1)
        figures: list[object] = [
            _typed(rnd, nominal_mm(place, made_as) + shift + round(rnd.gauss(0, 1.5)))
            for place in range(len(POINTS))
            for _ in "LR"
        ]
        truth.readings += len(figures)
        reference: object = f"{order}/{self.number}"
        label: object = int(size) if rnd.random() < 0.5 else f" {size} "
        here = self.row + 1
        if self.grave and rnd.random() < 0.05:
            reference, label = self._spoil(
                here, figures, reference=reference, label=label, size=size, order=order
            )
        measured = _date(rnd, day + dt.timedelta(days=2))
        by = rnd.choice(("Ann", "ben", None))
        self.line([*first, reference, label, rnd.choice(("black", "Écru", "")), measured, by, *figures])

    def _spoil(
        self, row: int, figures: list[object], *, reference: object, label: object, size: str, order: str
    ) -> tuple[object, object]:
        rnd, truth = self.rnd, self.truth
        kind = rnd.choice(("size", "double", *_BAD_FIGURES))
        if kind == "double":
            before = self.sheet.cell(row=row - 1, column=5).value
            if not isinstance(before, str) or not before.startswith(f"{order}/"):
                return reference, label  # the first of its delivery has none before it
            reference = before
        elif kind == "size":
            label = rnd.choice(("23", "M", None))
        else:
            # Halves only in "full": nobody doubles a length.
            at = rnd.randrange(6 if kind == "full" else len(figures))
            figures[at] = _bad_figure(kind, nominal_mm(at // 2, size), rnd)
        if kind in ("full", "ten_cm"):
            truth.slips.append(row)
        else:
            truth.note(kind, row)
        return reference, label


_BAD_FIGURES = ("date", "word", "marked", "full", "ten_cm", "metre")


def _bad_figure(kind: str, nominal: int, rnd: random.Random) -> object:
    """A figure with one fault in it; `nominal` is what it should have been about, in mm."""
    return {
        "date": dt.datetime(2024, 8, 3),  # noqa: DTZ001  # a spreadsheet's dates have no zone
        "word": rnd.choice(("?", "see note", "#REF!", "33,0,5")),
        "marked": f"{nominal / 10}*",
        "full": round(2 * nominal / 10, 1),
        "ten_cm": round(nominal / 10 + 10.0, 1),
        "metre": f"{nominal / 1000} m",
    }[kind]


_HEADER_AGAIN: list[object] = [
    "Maker",
    "Style",
    "PO",
    "Arrived",
    "Piece no.",
    "Size",
    "Colour",
    "Measured",
    "By",
]


def _typed(rnd: random.Random, mm: int) -> object:
    """A length in one of the ways people write it in a book kept in centimetres."""
    way = rnd.random()
    if way < 0.6:
        return mm / 10
    if way < 0.8:
        return f"{mm / 10:.1f}".replace(".", ",")
    if way < 0.9:
        return f"{mm} mm"
    return f" {mm / 10:.1f} cm"


def _date(rnd: random.Random, day: dt.date) -> object:
    way = rnd.random()
    if way < 0.6:
        return dt.datetime(day.year, day.month, day.day)  # noqa: DTZ001  # as above
    return day.strftime("%d.%m.%Y") if way < 0.8 else day.isoformat()
