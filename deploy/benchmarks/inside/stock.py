"""Fill a data folder: a shop, a style of twenty readings a piece, measured pieces, pieces that wait.

Measured pieces come in through the real import.
"""

from __future__ import annotations

import argparse
import csv
import datetime as dt
import io
import json
import random
from typing import TYPE_CHECKING, Final

from django.core.management import call_command
from django.utils import timezone

from inventory import tasks
from inventory.calc.length import Unit
from inventory.models import Batch, ImportRun, Maker, Piece, Reading, Spec, User
from inventory.models.people import Role
from inventory.services.deliveries import add_batch, receive_delivery
from inventory.services.importing import runs
from inventory.services.makers import add_maker
from inventory.services.pieces import PieceCount, number_pieces
from inventory.services.spec_defaults import entries_from_catalogue, with_defaults
from inventory.services.spec_entries import CellEntry, PointEntry
from inventory.services.specs import draft_spec, put_spec_in_force
from inventory.services.styles import start_style

if TYPE_CHECKING:
    from collections.abc import Sequence

PASSWORD: Final = "only-for-a-benchmark"  # noqa: S105  # of a folder that is thrown away
SIZES: Final = ("22", "24", "26", "28", "30")
SPREAD_MM: Final = 1.3
# Nominal of the first size and grade step, mm; invented.
POINTS_MM: Final = {
    "TE": (402, 25), "FB": (431, 25), "UB": (362, 25), "WA": (281, 25), "HH": (377, 25),
    "LE": (424, 25), "CF": (318, 4), "PS": (305, 4), "SS": (246, 4), "CB": (291, 4),
}  # fmt: skip


def main(arguments: Sequence[str]) -> None:
    """Fill the folder; print the batches of measured pieces and the numbers of the pieces that wait."""
    asked = argparse.ArgumentParser(prog="stock", description=__doc__)
    asked.add_argument("--pieces", type=int, nargs="*", default=[], help="measured pieces, a batch each")
    asked.add_argument("--number", type=int, default=0, help="pieces that wait to be measured")
    wanted = asked.parse_args(arguments)
    spec = start_shop()
    owner = User.objects.get(username="owner")
    batches: list[int] = []
    for place, pieces in enumerate(wanted.pieces):
        order = f"PO-{place + 1}"
        run = upload(measured_file(pieces, order=order), name=f"{order}.csv", by=owner)
        batches += store(run, by=owner).report["stored"]["batches"]
    waiting = number_more(wanted.number, spec=spec, by=owner) if wanted.number else None
    numbers = list(Piece.objects.filter(batch=waiting).order_by("number").values_list("number", flat=True))
    print(
        json.dumps(
            {
                "batches": batches,
                "waiting": numbers,
                "readings": Reading.objects.count(),
                "inspector": User.objects.get(username="inspector").pk,
                "nominals_mm": {code: nominal_mm(code, SIZES[0]) for code in POINTS_MM},
            }
        )
    )


def start_shop() -> Spec:
    """Migrate the folder and lay the maker, the people, the style and its spec in force."""
    call_command("migrate", verbosity=0)
    at = timezone.now() - dt.timedelta(days=60)
    owner = User.objects.create_user("owner", password=PASSWORD, role=Role.OWNER)
    User.objects.create_user("inspector", password=PASSWORD, role=Role.INSPECTOR)
    add_maker(code="bench", name="Workshop of the benchmark", notice_window_days=14, by=owner, at=at)
    style = start_style(
        code="bench", name="Benchmark", family="laced_overbust", point_codes=tuple(POINTS_MM), by=owner, at=at
    )
    usual = entries_from_catalogue(style, unit=Unit.MM)
    entries = {
        code: with_defaults(
            PointEntry(
                step=f"{step} mm",
                cells={size: CellEntry(nominal=f"{nominal_mm(code, size)} mm") for size in SIZES},
            ),
            usual[code],
        )
        for code, (_, step) in POINTS_MM.items()
    }
    spec = draft_spec(
        style=style,
        unit_of_record=Unit.MM.value,
        size_labels=SIZES,
        base_size=SIZES[0],
        entries=entries,
        by=owner,
        at=at,
    )
    put_spec_in_force(spec=Spec.objects.get(pk=spec.pk), by=owner, at=at)
    return Spec.objects.select_related("style").get(pk=spec.pk)


def nominal_mm(code: str, size: str) -> int:
    """The nominal of a point in a size."""
    first, step = POINTS_MM[code]
    return first + SIZES.index(size) * step


def measured_file(pieces: int, *, order: str) -> bytes:
    """A CSV file of so many measured pieces, one a line; each order has figures of its own."""
    chance = random.Random(order)  # noqa: S311  # figures, not secrets
    day = timezone.localdate() - dt.timedelta(days=20)
    sides = [(code, side) for code in POINTS_MM for side in "LR"]
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    head = ["Piece reference", "Size", "Colour", "Carton", "Measured on"]
    head += ["Maker", "Style", "Order", "Arrived on"]
    writer.writerow([*head, *(f"{code} {side} (mm)" for code, side in sides)])
    for place in range(pieces):
        size = SIZES[place % len(SIZES)]
        figures = [round(2 * chance.gauss(nominal_mm(code, size), SPREAD_MM)) / 2 for code, _ in sides]
        words = [f"{order}-{place + 1}", size, "ivory", str(place // 40 + 1), day + dt.timedelta(days=1)]
        writer.writerow([*words, "bench", "bench", order, day, *(f"{figure:g}" for figure in figures)])
    return out.getvalue().encode()


def upload(content: bytes, *, name: str, by: User) -> ImportRun:
    """The first half of the real import: uploaded, and checked by the job the shop's runner carries out."""
    run = runs.upload_file(kind=ImportRun.Kind.PIECES, name=name, content=content, by=by, at=timezone.now())
    tasks.execute(runs.request_check(run=run, by=by).pk)
    run.refresh_from_db()
    return run


def store(run: ImportRun, *, by: User) -> ImportRun:
    """The second half: judged and stored by its job."""
    tasks.execute(runs.request_store(run=run, accept_suspicious=True, by=by, at=timezone.now()).pk)
    run.refresh_from_db()
    if run.state != ImportRun.State.STORED:
        raise RuntimeError(f"{run.file_name} was not stored but is {run.state}: {run.report}")
    return run


def number_more(count: int, *, spec: Spec, by: User) -> Batch:
    """A batch of pieces that are numbered and wait to be measured."""
    at = timezone.now()
    maker = Maker.objects.get(code="bench")
    delivery = receive_delivery(maker=maker, arrived_at=at, order_reference="waiting", by=by, at=at)
    batch = add_batch(delivery=delivery, style=spec.style, by=by, at=at)
    number_pieces(batch=batch, counts=[PieceCount(size_label=SIZES[0], count=count)], by=by, at=at)
    return batch
