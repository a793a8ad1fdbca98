"""Who did what, and when. Rows are only ever added."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models


class AuditRow(models.Model):
    at = models.DateTimeField()
    who = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+", db_index=False
    )
    deed = models.CharField(max_length=40)
    subject_type = models.CharField(max_length=24)
    subject_id = models.BigIntegerField()
    subject_label = models.CharField(max_length=120)
    detail = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["-id"]
        indexes: ClassVar = [
            # "what was done to this piece": queries.audit.history_of
            models.Index(fields=["subject_type", "subject_id"], name="audit_subject"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.deed} {self.subject_label}"
