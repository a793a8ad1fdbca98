"""The work of an import, done in the background: check, and store in one transaction."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from django.db import transaction
from django.utils import timezone

from inventory.models import ImportRun, Shop
from inventory.queries.tape_corrections import tapes_of
from inventory.services.audit import leave_row
from inventory.services.importing.books import Books
from inventory.services.importing.checking import check_pieces, seen_with
from inventory.services.importing.exported import read_export
from inventory.services.importing.judging import judge_pieces
from inventory.services.importing.kept_file import opened, table_of
from inventory.services.importing.mapping import TableMapping
from inventory.services.importing.refusals import NotReady
from inventory.services.importing.report import Report
from inventory.services.importing.restored_pictures import check_pictures, kept_pictures
from inventory.services.importing.restoring import check_empty, check_export, restore
from inventory.services.importing.runs import WHOLE, State, refuse_stored
from inventory.services.importing.stored_readings import moments_of
from inventory.services.importing.storing import store_pieces
from inventory.services.importing.tapes import TapesOfFile
from inventory.services.jobs import JobLost, JobRefused, finish_job, hold_job, report_progress
from inventory.services.progress import teller

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Job, User
    from inventory.services.importing.files import Table

Json = dict[str, Any]  # Any: what JSON can hold


def carry_out_check(job: Job) -> Json:
    """The work of a check: read, judge what is wrong, keep the report."""
    run = _run_of(job)
    report = _guarded(run, lambda: _check(run, job))
    with transaction.atomic():
        hold_job(job)
        run.report = {**report, "labels": run.report.get("labels", [])}
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
        refuse_stored(run)
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
        return _spec_writer(run, table, mapping)
    return _piece_writer(run, table, mapping, job=job, by=by, at=at)


def _spec_writer(run: ImportRun, table: Table, mapping: TableMapping) -> Writer:
    from inventory.services.importing.specs import store_spec  # noqa: PLC0415  # needed for specs only

    accepted = run.report.get("suspicious", ())
    return lambda by, at: store_spec(table, mapping, by=by, at=at, accepted=accepted)


def _piece_writer(
    run: ImportRun, table: Table, mapping: TableMapping, *, job: Job, by: User, at: dt.datetime
) -> Writer:
    shop = Shop.objects.current()
    books = Books(run.report.get("who"))
    report_progress(job, 15, 100, f"understanding {len(table.rows)} lines")
    display = shop.as_display()
    pieces, report = check_pieces(table, mapping, books, by=by, at=at, display=display, said=None)
    if report.error_count or seen_with(pieces, display) != run.report.get("seen_with"):
        raise NotReady(
            "Since the check something changed in makers, styles, specs, people or how lengths are shown, "
            f"and the file may read otherwise now ({report.error_count} errors). Check it again."
        )
    report_progress(job, 40, 100, f"judging {len(pieces)} pieces")
    judged = judge_pieces(
        pieces,
        books,
        shelf=shop.shelf_rule.as_rule(),
        claim=shop.claim_rule.as_rule(),
        tapes=TapesOfFile(pieces, moments_of(pieces, at), tapes_of(shop)),
    )
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
