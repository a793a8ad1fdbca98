"""Background work as rows: the table is the truth, whoever carries the work out.

A job is asked for in state *waiting*; a runner takes it with a lease, renews the lease while it works, and
leaves it *done* or *failed*. A runner that is killed stops renewing, so its job is taken again.
"""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.db import models
from django.db.models import Q


class JobState(models.TextChoices):
    """Where a job stands."""

    WAITING = "waiting", "waiting"
    RUNNING = "running", "running"
    DONE = "done", "done"
    FAILED = "failed", "failed"


class JobQuerySet(models.QuerySet["Job"]):
    """The questions asked of the table."""

    def open(self) -> JobQuerySet:
        """Return the jobs that are not over: waiting or running."""
        return self.filter(state__in=[JobState.WAITING, JobState.RUNNING])

    def ready(self, now: datetime) -> JobQuerySet:
        """Return what a runner may take at `now`, oldest first: waiting, or running on a lapsed lease."""
        lapsed = Q(state=JobState.RUNNING, lease_until__lt=now)
        return self.filter(Q(state=JobState.WAITING) | lapsed).order_by("pk")


class Job(models.Model):
    """One piece of work to be done outside a request; safe to carry out twice."""

    kind = models.CharField(max_length=40)
    arguments = models.JSONField(default=dict, blank=True)
    state = models.CharField(max_length=10, choices=JobState.choices, default=JobState.WAITING)
    done = models.PositiveIntegerField(default=0)
    total = models.PositiveIntegerField(default=0)
    words = models.CharField(max_length=200, blank=True)
    lease_until = models.DateTimeField(null=True, blank=True)
    # Counts the takes; also the fence: a runner whose number is no longer this one has lost the job.
    attempts = models.PositiveSmallIntegerField(default=0)
    error = models.TextField(blank=True)
    result = models.JSONField(default=dict, blank=True)
    dedupe_key = models.CharField(max_length=200, blank=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.SET_NULL, related_name="+"
    )
    created_at = models.DateTimeField(auto_now_add=True)
    started_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)

    objects = JobQuerySet.as_manager()

    progress_written_s = 0.0  # not a column: when this run last wrote its progress, on its monotonic clock

    class Meta:
        ordering = ["-pk"]
        indexes = [
            # A runner looks for ready jobs five times a second; the finished ones must not cost it anything.
            models.Index(fields=["state", "id"], name="jobs_state_oldest_first"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["dedupe_key"],
                condition=Q(state__in=["waiting", "running"]) & ~Q(dedupe_key=""),
                name="jobs_one_open_job_per_dedupe_key",
            ),
            models.CheckConstraint(
                condition=~Q(state="running") | Q(lease_until__isnull=False),
                name="jobs_running_only_on_a_lease",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} job {self.pk}, {self.state}"

    @property
    def is_over(self) -> bool:
        """Whether the job has ended, well or badly."""
        return self.state in {JobState.DONE, JobState.FAILED}

    @property
    def percent(self) -> int | None:
        """Return the progress in whole per cent, or None while the extent of the work is unknown."""
        if self.state == JobState.DONE:
            return 100
        if not self.total:
            return None
        return min(100, self.done * 100 // self.total)
