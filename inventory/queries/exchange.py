"""What was brought in and what was written out, newest first."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, Final

from inventory.models import Batch, ImportRun, Job

if TYPE_CHECKING:
    from django.db.models import QuerySet

EXPORT: Final = "export"
MEASUREMENTS: Final = "measurements"


def all_runs() -> QuerySet[ImportRun]:
    """All imports, newest first, with their people and jobs: one statement."""
    return ImportRun.objects.select_related("created_by", "job").order_by("-pk")


def latest_runs(*, most: int = 15) -> QuerySet[ImportRun]:
    """The latest of them."""
    return all_runs()[:most]


def exports_of(kinds: Collection[str]) -> QuerySet[Job]:
    """Exports of these kinds, newest first, with who asked: one statement."""
    return Job.objects.filter(kind__in=kinds).select_related("created_by").order_by("-pk")


def latest_exports(kinds: Collection[str], *, most: int = 10) -> QuerySet[Job]:
    """The latest of them."""
    return exports_of(kinds)[:most]


def run_by_pk(pk: int) -> ImportRun | None:
    """One import with its person and job."""
    return all_runs().filter(pk=pk).first()


def runs_of_same_file(run: ImportRun) -> Sequence[ImportRun]:
    """Other imports of the very same file, newest first."""
    same = ImportRun.objects.filter(digest=run.digest, kind=run.kind).exclude(pk=run.pk)
    return list(same.select_related("created_by").order_by("-pk")[:5])


def batches_numbered(numbers: Sequence[int]) -> list[Batch]:
    """The batches an import made, with style and delivery: one statement."""
    return list(
        Batch.objects.filter(number__in=list(numbers))
        .select_related("style", "delivery__maker")
        .order_by("number")
    )
