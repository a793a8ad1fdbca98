"""`manage.py load_demo`: fill an empty installation with the demo shop and print its sign-ins."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from inventory.management.demo import building, scenario


class Command(BaseCommand):
    help = "Fill an empty installation with the demo shop (invented makers and people)."

    def handle(self, *_args: Any, **_options: Any) -> None:  # Any: Django's own signature
        if not building.is_empty():
            raise CommandError(
                "There are people, makers or styles here already; the demo is only for an empty "
                "installation. Set DATA_DIR to an empty folder and start again."
            )
        with transaction.atomic():
            building.build(timezone.now())
        self.stdout.write(f"The demo shop is loaded: {scenario.SHOP} (all invented).")
        for name, given, family, role in scenario.PEOPLE:
            self.stdout.write(
                f"  {role:<10} sign in as {name!r}, password {scenario.PASSWORD!r} ({given} {family})"
            )
