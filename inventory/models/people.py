"""Who works here, and in which role."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import AbstractUser
from django.db import models


class Role(models.TextChoices):
    OWNER = "owner", "Owner"
    INSPECTOR = "inspector", "Inspector"
    VIEWER = "viewer", "Viewer"


class User(AbstractUser):
    """A person who signs in. The role is the only switch: the admin site follows from it."""

    role = models.CharField(max_length=12, choices=Role.choices, default=Role.VIEWER)

    def __str__(self) -> str:
        return self.get_full_name() or self.username

    def save(self, *args: Any, **kwargs: Any) -> None:  # Any: Django's own signature
        self.is_staff = self.is_superuser = self.role == Role.OWNER
        super().save(*args, **kwargs)

    @property
    def shown_name(self) -> str:
        return str(self)
