"""Small files of measured pieces, and the two roads they can take into the database."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from inventory import tasks
from inventory.models import Batch, ImportRun, Job, Piece, Spec, User
from inventory.models.people import Role
from inventory.services.importing import runs
from inventory.services.importing.mapping import TableMapping, Target
from tests.factories import LACED, NOW, PointRecipe, make_maker, make_spec, make_user

COLUMNS = tuple((recipe.code, side) for recipe in LACED for side in ("L", "R"))
HEADER = ["Piece", "Size", "Colour", *(f"{code} {side}" for code, side in COLUMNS)]


@dataclass(frozen=True)
class World:
    """A maker, a spec in force, and who brings files in."""

    spec: Spec
    target: Target
    inspector: User


def make_world(points: Sequence[PointRecipe] = LACED) -> World:
    spec = make_spec(points=points)
    maker = make_maker()
    target = Target(maker=maker.code, style=spec.style.code, arrived_on="2026-03-01", order="PO-7")
    return World(spec, target, make_user(Role.INSPECTOR))


def csv_of(
    rows: Sequence[Sequence[object]], *, header: Sequence[str] = HEADER, delimiter: str = ","
) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter)
    writer.writerows([header, *rows])
    return out.getvalue().encode()


def row(
    reference: str = "a1", size: str = "24", off: Mapping[tuple[str, str], float] | None = None
) -> list[object]:
    """A piece at its nominals in mm, but for the deviations (mm) given."""
    place = ("22", "24", "26").index(size)
    figures = [
        f"{recipe.nominal_mm + place * recipe.step_mm + (off or {}).get((recipe.code, side), 0):g}"
        for recipe in LACED
        for side in ("L", "R")
    ]
    return [reference, size, "black", *figures]


def upload(
    content: bytes,
    world: World,
    *,
    name: str = "pieces.csv",
    kind: str = "pieces",
    by: User | None = None,
    **changes: object,
) -> ImportRun:
    """Upload, take what is proposed but for the changes, and choose where the pieces go."""
    who = by or world.inspector
    run = runs.upload_file(kind=kind, name=name, content=content, by=who, at=NOW)
    chosen = {"target": world.target, **changes}
    mapping = replace(TableMapping.from_json(run.mapping), **chosen)  # type: ignore[arg-type]  # a test's own
    return runs.choose_mapping(run=run, mapping=mapping, by=who)


def check(run: ImportRun, world: World) -> ImportRun:
    return _work(runs.request_check(run=run, by=run.created_by), run)


def store(run: ImportRun, world: World, *, accept: bool = True, at: dt.datetime = NOW) -> ImportRun:
    return _work(runs.request_store(run=run, accept_suspicious=accept, by=run.created_by, at=at), run)


def bring_in(content: bytes, world: World, **changes: object) -> ImportRun:
    return store(check(upload(content, world, **changes), world), world)  # type: ignore[arg-type]


def _work(job: Job, run: ImportRun) -> ImportRun:
    tasks.execute(job.pk)
    job.refresh_from_db()
    assert job.state == "done", job.error
    run.refresh_from_db()
    return run


def only_batch() -> Batch:
    return Batch.objects.get()


def pieces_in_order() -> list[Piece]:
    return list(Piece.objects.order_by("number"))
