"""The workshops that sew for us."""

from __future__ import annotations

from typing import ClassVar

from django.db import models


class Maker(models.Model):
    code = models.SlugField(max_length=12, unique=True, help_text="Short name used on labels and sheets.")
    name = models.CharField(max_length=120)
    country = models.CharField(max_length=60, blank=True)
    language = models.CharField(
        max_length=8, default="en", help_text="Language of what we send, such as en or de."
    )
    email = models.EmailField(blank=True)
    notice_window_days = models.PositiveSmallIntegerField(
        null=True,
        blank=True,
        help_text="Days from arrival agreed for notice, as your contract says. Not legal advice.",
    )
    window_source = models.CharField(
        max_length=200, blank=True, help_text="Where that is agreed: contract, order, mail."
    )
    governing_law = models.CharField(max_length=120, blank=True, help_text="As your contract says.")
    note = models.TextField(blank=True)
    is_active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name
