"""Ask for an export, write it in the background, find its file again."""

from __future__ import annotations

from collections.abc import Callable, Collection
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO, Final

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from inventory.access import Deed, require
from inventory.models import Batch, Shop
from inventory.queries.exchange import EXPORT, MEASUREMENTS
from inventory.queries.measurements import pieces_measured
from inventory.services.audit import leave_row
from inventory.services.exporting.measurement_files import write_measurements
from inventory.services.exporting.tables import TABLES
from inventory.services.exporting.writing import write_export
from inventory.services.jobs import JobRefused, finish_job, hold_job, report_progress, request_job

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import Job, User

FORMS: Final = {"xlsx": "xlsx", "csv": "zip", "json": "json"}
"""Forms of an export of everything, and the ending of the file each is."""
TABLE_FORMS: Final = ("csv", "xlsx")
"""Forms of the table of measurements, each named after the ending of its file."""


class ExportRefused(JobRefused):
    """An export of a form that there is not."""


@transaction.atomic
def request_export(*, form: str, by: User, at: dt.datetime) -> Job:
    """Ask for everything to be written out. Raises `ExportRefused`."""
    require(by, Deed.TAKE_OUT)
    _check_form(form, FORMS)
    job = request_job(EXPORT, {"form": form}, by=by, dedupe_key=f"export {form} {by.pk}")
    leave_row(who=by, deed="ask for export", subject=job, at=at, form=form)
    return job


@transaction.atomic
def request_measurements(*, form: str, batch: Batch | None = None, by: User, at: dt.datetime) -> Job:
    """Ask for the table of what was measured, in a batch or in the whole shop. Raises `ExportRefused`.

    It tells what the pages tell, so whoever may look at them may have it.
    """
    require(by, Deed.VIEW)
    _check_form(form, TABLE_FORMS)
    label = batch.label if batch else ""
    asked = {"form": form, "batch": batch.number if batch else None, "label": label}
    job = request_job(MEASUREMENTS, asked, by=by, dedupe_key=f"measurements {form} {label} {by.pk}")
    leave_row(who=by, deed="ask for measurements", subject=job, at=at, form=form, batch=label)
    return job


def carry_out_export(job: Job) -> dict[str, Any]:  # Any: what JSON can hold
    """Write everything the shop has."""
    done = 0

    def said(table: str) -> None:
        nonlocal done
        report_progress(job, done, len(TABLES) + 1, f"writing {table.replace('_', ' ')}")
        done += 1

    form = str(job.arguments["form"])
    return _carry_out(job, lambda out, at: write_export(form, out, at=at, said=said))


def carry_out_measurements(job: Job) -> dict[str, Any]:  # Any: what JSON can hold
    """Write the table of measurements."""
    number = job.arguments.get("batch")
    batch = None if number is None else Batch.objects.filter(number=number).first()
    if number is not None and batch is None:
        raise ExportRefused(f"There is no batch {job.arguments.get('label')} any more.")
    pieces = pieces_measured(batch)
    shop = Shop.objects.current()

    def said(done: int) -> None:
        report_progress(job, done, len(pieces) + 1, f"{done} of {len(pieces)} pieces written")

    def write(out: BinaryIO, at: dt.datetime) -> dict[str, int]:
        lines = write_measurements(
            str(job.arguments["form"]),
            out,
            pieces=pieces,
            unit=shop.as_display().unit,
            about=[
                ("shop", shop.name),
                ("batch", batch.label if batch else "all"),
                ("written at", timezone.localtime(at).isoformat(" ", "minutes")),
            ],
            said=said,
        )
        return {"lines": lines, "pieces": len(pieces)}

    return _carry_out(job, write)


def file_of(job: Job) -> Path:
    """Where the export of a job lies, or will lie."""
    form = str(job.arguments.get("form"))
    ending = form if job.kind == MEASUREMENTS and form in TABLE_FORMS else FORMS.get(form, "bin")
    return Path(settings.MEDIA_ROOT) / "exports" / f"export-{job.pk}.{ending}"


def _check_form(form: str, forms: Collection[str]) -> None:
    if form not in forms:
        raise ExportRefused(f"There is no export of the form {form!r}. Choose {', '.join(forms)}.")


def _carry_out(job: Job, write: Callable[[BinaryIO, dt.datetime], dict[str, int]]) -> dict[str, Any]:
    """Write the file beside its place and move it there when it is whole."""
    at = timezone.now()
    place = file_of(job)
    place.parent.mkdir(parents=True, exist_ok=True)
    unfinished = place.with_suffix(f".{job.attempts}.part")
    try:
        with unfinished.open("wb") as out:
            counts = write(out, at)
        unfinished.replace(place)
    finally:
        unfinished.unlink(missing_ok=True)
    result = {"rows": counts, "bytes": place.stat().st_size, "written_at": at.isoformat()}
    with transaction.atomic():
        hold_job(job)
        finish_job(job, result)
    return result
