"""The deeds of an import: upload, choose, check, store. Each can be taken again until the file is stored."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, BinaryIO, cast

from django.core.files.base import File
from django.db import transaction
from django.utils import timezone

from inventory.access import Deed, require
from inventory.calc.length import Unit
from inventory.models import ImportRun, Shop
from inventory.services.audit import leave_row
from inventory.services.importing.books import Books, known_points
from inventory.services.importing.checking import check_pieces, seen_with
from inventory.services.importing.exported import read_export
from inventory.services.importing.files import Table, read_table
from inventory.services.importing.guessing import propose
from inventory.services.importing.judging import judge_pieces
from inventory.services.importing.mapping import TableMapping, Target
from inventory.services.importing.refusals import (
    FileNotReadable,
    MappingIncomplete,
    NoColumns,
    NotReady,
    StoredBefore,
    SuspicionsOpen,
)
from inventory.services.importing.report import Report
from inventory.services.importing.restored_pictures import check_pictures, kept_pictures
from inventory.services.importing.restoring import check_empty, check_export, restore
from inventory.services.importing.storing import store_pieces
from inventory.services.jobs import (
    JobLost,
    JobRefused,
    finish_job,
    hold_job,
    report_progress,
    request_job,
)
from inventory.services.progress import teller

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Job, User

CHECK = "import-check"
STORE = "import-store"

DEEDS = {
    ImportRun.Kind.PIECES.value: Deed.BRING_IN,
    ImportRun.Kind.SPEC.value: Deed.SET_UP,
    ImportRun.Kind.WHOLE.value: Deed.ADMINISTER,
}
WHOLE = ImportRun.Kind.WHOLE.value

State = ImportRun.State
Json = dict[str, Any]  # Any: what JSON can hold


@transaction.atomic
def upload_file(*, kind: str, name: str, content: bytes | BinaryIO, by: User, at: dt.datetime) -> ImportRun:
    """Keep a file and propose how to read it. Raises `FileNotReadable`; nothing is kept then.

    A whole export may be given as an open file: its photos can be larger than memory.
    """
    require(by, DEEDS[kind])
    file = io.BytesIO(content) if isinstance(content, bytes) else content
    table = None
    if kind == WHOLE:
        check_empty()
        read_export(file)
    else:
        table = read_table(file.read())
    run = ImportRun(
        kind=kind,
        file_name=name[-160:] or "file",
        digest=_digest(file, table),
        mapping={} if table is None else _proposal(table, kind).as_json(),
        created_by=by,
        created_at=at,
    )
    run.file.save(f"{run.digest[:16]}{_ending(name)}", File(file), save=False)
    run.save()
    leave_row(who=by, deed="upload file", subject=run, at=at, digest=run.digest, kind=kind)
    return run


@contextmanager
def opened(run: ImportRun) -> Iterator[BinaryIO]:
    """The file as it came. Raises `FileNotReadable` when it is no longer there."""
    try:
        kept = run.file.open("rb")
    except (FileNotFoundError, ValueError) as gone:  # removed, or never here: the run came with an export
        raise FileNotReadable(
            f"The uploaded file {run.file_name!r} is no longer on the server. Upload it again."
        ) from gone
    with kept:
        yield cast("BinaryIO", kept)


def content_of(run: ImportRun) -> bytes:
    """The bytes of the file. Raises `FileNotReadable` when it is no longer there."""
    with opened(run) as kept:
        return kept.read()


def table_of(run: ImportRun, *, sheet: str | None = None) -> Table:
    """The rows of the run's file, of the sheet that was chosen unless another is named."""
    chosen = str(run.mapping.get("sheet", "")) if sheet is None else sheet
    return read_table(content_of(run), sheet=chosen)


def stored_before(run: ImportRun) -> ImportRun | None:
    """The run that stored this very file (this very sheet of it) earlier, if any."""
    return (
        ImportRun.objects.filter(kind=run.kind, digest=run.digest, state=State.STORED)
        .exclude(pk=run.pk)
        .select_related("created_by")
        .first()
    )


@transaction.atomic
def read_header_again(
    *, run: ImportRun, sheet: str, header_row: int | None, header_rows: int, target: Target, by: User
) -> ImportRun:
    """Take another sheet, or another header row (from 1), and propose anew what the columns mean.

    `header_row` None looks for the header. Raises `FileNotReadable`, `MappingIncomplete`, `NoColumns`.
    """
    require(by, DEEDS[run.kind])
    held = _open_table(run)
    content = content_of(held)
    table = read_table(content, sheet=sheet)
    if header_row is not None and header_row + header_rows > len(table.rows) + 1:
        raise MappingIncomplete(
            f"The header cannot be in row {header_row}: the table has {len(table.rows)} rows.",
            field="header_row",
        )
    held.digest = _digest(io.BytesIO(content), table)
    return _set_mapping(
        held, _proposal(table, held.kind, target=target, header_row=header_row, header_rows=header_rows)
    )


@transaction.atomic
def choose_mapping(*, run: ImportRun, mapping: TableMapping, by: User) -> ImportRun:
    """Keep the choices about columns, unit and delivery; an earlier check no longer counts.

    Raises `NoColumns`.
    """
    require(by, DEEDS[run.kind])
    return _set_mapping(_open_table(run), mapping)


@transaction.atomic
def request_check(*, run: ImportRun, by: User) -> Job:
    """Ask for the file to be checked in the background. Raises `NotReady`."""
    require(by, DEEDS[run.kind])
    held = _open_run(run)
    return _request(held, CHECK, State.CHECKING, by=by)


@transaction.atomic
def request_store(*, run: ImportRun, accept_suspicious: bool, by: User, at: dt.datetime) -> Job:
    """Ask for the checked file to be stored. Raises `NotReady`, `StoredBefore`, `SuspicionsOpen`."""
    require(by, DEEDS[run.kind])
    held = _open_run(run)
    if held.state != State.CHECKED:
        raise NotReady(f"{held.file_name} was not checked yet with these choices. Check it first.")
    counts = held.report["counts"]
    if counts["errors"]:
        raise NotReady(f"{counts['errors']} errors are left. Correct them in the file and upload it again.")
    _refuse_stored(held)
    suspicious = counts.get("suspicious", 0)
    if suspicious and not accept_suspicious:
        look = "1 cell looks like a slip" if suspicious == 1 else f"{suspicious} cells look like slips"
        raise SuspicionsOpen(
            f"{look}. Tick that what was typed is to be stored, or correct the file.",
            field="accept_suspicious",
        )
    if suspicious:
        leave_row(who=by, deed="accept suspicious cells", subject=held, at=at, cells=suspicious)
    return _request(held, STORE, State.STORING, by=by)


def carry_out_check(job: Job) -> Json:
    """The work of a check: read, judge what is wrong, keep the report."""
    run = _run_of(job)
    report = _guarded(run, lambda: _check(run, job))
    with transaction.atomic():
        hold_job(job)
        run.report = report
        run.state = State.CHECKED
        run.save(update_fields=["report", "state"])
        finish_job(job, {"run": run.pk})
    return {"run": run.pk}


def carry_out_store(job: Job) -> Json:
    """The work of storing: read and judge once more, then everything in one transaction."""
    run = _run_of(job)
    if run.state == State.STORED:
        return dict(run.report.get("stored", {}))
    return _guarded(run, lambda: _store(run, job))


def _check(run: ImportRun, job: Job) -> Json:
    at = timezone.now()
    report_progress(job, 0, 100, "reading the file")
    if run.kind == WHOLE:
        return _check_whole(run)
    table = table_of(run)
    if run.kind == ImportRun.Kind.SPEC:
        from inventory.services.importing.specs import check_spec  # noqa: PLC0415  # needed for specs only

        return check_spec(table, TableMapping.from_json(run.mapping), by=run.created_by)[1].as_json()
    report_progress(job, 20, 100, f"understanding {len(table.rows)} lines")
    _, report = check_pieces(
        table,
        TableMapping.from_json(run.mapping),
        Books(),
        by=run.created_by,
        at=at,
        display=Shop.objects.current().as_display(),
        said=lambda done, total: report_progress(
            job, 40 + 60 * done // max(total, 1), 100, "looking for slips"
        ),
    )
    return report.as_json()


def _check_whole(run: ImportRun) -> Json:
    report = Report()
    check_empty()
    with opened(run) as file:
        tables = read_export(file)
        check_export(tables, report)
        if "photos" in tables:
            check_pictures(file, tables["photos"], report)
    return report.as_json()


def _store(run: ImportRun, job: Job) -> Json:
    by = job.created_by or run.created_by
    report_progress(job, 0, 100, "reading the file")
    if run.kind == WHOLE:
        return _store_whole(run, job, by=by)
    at = timezone.now()
    return _write(run, job, _writer_of(run, job=job, by=by, at=at), by=by, at=at)


def _store_whole(run: ImportRun, job: Job, *, by: User) -> Json:
    with opened(run) as file:
        tables = read_export(file)
        kept = kept_pictures(
            file,
            tables["photos"],
            said=lambda done, total: report_progress(
                job, 20 + 30 * done // max(total, 1), 100, f"keeping photos: {done} of {total}"
            ),
        )
        with kept as pictures:
            tell = teller(job)
            rows = sum(len(one) for one in tables.values())
            passed = 0

            def said(what: str) -> None:
                nonlocal passed
                tell(50 + 45 * passed // max(rows, 1), f"restoring {what}")
                passed += len(tables.get(what.replace(" ", "_"), ()))

            return _write(
                run,
                job,
                lambda _by, _at: restore(tables, pictures, said=said),
                by=by,
                at=timezone.now(),
            )


def _write(run: ImportRun, job: Job, write: Writer, *, by: User, at: dt.datetime) -> Json:
    """All of it in one transaction, the run's own end included."""
    report_progress(job, 50, 100, "storing")
    with transaction.atomic():
        hold_job(job)
        _refuse_stored(run)
        stored = write(by, at)
        run.report = {**run.report, "stored": stored}
        run.state, run.stored_at = State.STORED, at
        run.save(update_fields=["report", "state", "stored_at"])
        leave_row(who=by, deed="store import", subject=run, at=at, digest=run.digest, **stored)
        finish_job(job, stored)
    return stored


Writer = Callable[["User", "dt.datetime"], Json]


def _writer_of(run: ImportRun, *, job: Job, by: User, at: dt.datetime) -> Writer:
    """Everything that can be done before the transaction, and the function that writes inside it."""
    table, mapping = table_of(run), TableMapping.from_json(run.mapping)
    if run.kind == ImportRun.Kind.SPEC:
        return _spec_writer(table, mapping)
    return _piece_writer(run, table, mapping, job=job, by=by, at=at)


def _spec_writer(table: Table, mapping: TableMapping) -> Writer:
    from inventory.services.importing.specs import store_spec  # noqa: PLC0415  # needed for specs only

    return lambda by, at: store_spec(table, mapping, by=by, at=at)


def _piece_writer(
    run: ImportRun, table: Table, mapping: TableMapping, *, job: Job, by: User, at: dt.datetime
) -> Writer:
    shop = Shop.objects.current()
    books = Books()
    report_progress(job, 15, 100, f"understanding {len(table.rows)} lines")
    display = shop.as_display()
    pieces, report = check_pieces(table, mapping, books, by=by, at=at, display=display, said=None)
    if report.error_count or seen_with(pieces, display) != run.report.get("seen_with"):
        raise NotReady(
            "Since the check something changed in makers, styles, specs, people or how lengths are shown, "
            f"and the file may read otherwise now ({report.error_count} errors). Check it again."
        )
    report_progress(job, 40, 100, f"judging {len(pieces)} pieces")
    judged = judge_pieces(pieces, books, shelf=shop.shelf_rule.as_rule(), claim=shop.claim_rule.as_rule())
    tell = teller(job)
    return lambda by, at: store_pieces(
        pieces, judged, books, run=run, shop=shop, unit=mapping.unit.value, by=by, at=at, tell=tell
    )


def _guarded(run: ImportRun, work: Callable[[], Json]) -> Json:
    """Do the work; whatever stops it leaves the run failed, so that it can be changed and tried again.

    Nothing is said of a run by work that was overtaken: it is another's by then, who may be done with it.
    """
    try:
        return work()
    except JobLost:
        raise
    except Exception:
        ImportRun.objects.filter(pk=run.pk).exclude(state=State.STORED).update(state=State.FAILED)
        raise


def _run_of(job: Job) -> ImportRun:
    run = ImportRun.objects.select_related("created_by").filter(pk=job.arguments.get("run")).first()
    if run is None:
        raise JobRefused("The import this work belongs to is gone. Upload the file again.")
    return run


def _open_run(run: ImportRun) -> ImportRun:
    """The run as stored, locked, unless it is stored already or somebody works on it."""
    held = ImportRun.objects.select_for_update(of=("self",)).select_related("job").get(pk=run.pk)
    if held.state == State.STORED:
        raise StoredBefore(f"{held.file_name} is stored already. Upload another file.")
    if held.job is not None and not held.job.is_over:
        raise NotReady(f"{held.file_name} is being worked on. Wait until that is done.")
    return held


def _open_table(run: ImportRun) -> ImportRun:
    """As `_open_run`, of a file whose columns can be chosen."""
    if run.kind == WHOLE:
        raise NoColumns(
            f"{run.file_name} is a whole export, which is read as it was written: there are no columns to "
            "choose. Check it as it is."
        )
    return _open_run(run)


def _set_mapping(run: ImportRun, mapping: TableMapping) -> ImportRun:
    run.mapping = mapping.as_json()
    run.state, run.report, run.job = State.UPLOADED, {}, None
    run.save(update_fields=["mapping", "state", "report", "job", "digest"])
    return run


def _request(run: ImportRun, kind: str, state: str, *, by: User) -> Job:
    job = request_job(kind, {"run": run.pk}, by=by, dedupe_key=f"import {run.pk}")
    run.job, run.state = job, state
    run.save(update_fields=["job", "state"])
    return job


def _refuse_stored(run: ImportRun) -> None:
    before = stored_before(run)
    if before is not None and before.stored_at is not None:
        raise StoredBefore(
            f"This very file was stored on {timezone.localtime(before.stored_at):%d %B %Y %H:%M} by "
            f"{before.created_by} already, as {before.file_name!r}. Storing it twice would count every "
            "piece twice."
        )


def _proposal(
    table: Table,
    kind: str,
    *,
    target: Target | None = None,
    header_row: int | None = None,
    header_rows: int = 1,
) -> TableMapping:
    return propose(
        table,
        kind=kind,
        points=known_points(),
        unit=Unit(Shop.objects.current().display_unit),
        target=target or Target(),
        header=None if header_row is None else (header_row - 1, header_rows),
    )


def _digest(file: BinaryIO, table: Table | None) -> str:
    """SHA-256 of the file; of the file and the sheet's name where a workbook has several."""
    file.seek(0)
    digest = hashlib.sha256()
    while part := file.read(1024 * 1024):
        digest.update(part)
    file.seek(0)
    if table is not None and len(table.sheets) > 1:
        digest.update(f"\0sheet {table.sheet}".encode())
    return digest.hexdigest()


def _ending(name: str) -> str:
    known = (".xlsx", ".zip", ".json")
    return next((ending for ending in known if name.lower().endswith(ending)), ".csv")
