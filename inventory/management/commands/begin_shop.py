"""`manage.py begin_shop`: what a first start puts into an empty installation, the demo shop or one owner."""

from __future__ import annotations

import secrets
from typing import Any, Final

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from inventory.services.people import NotTheFirst, add_first_owner

OWNER: Final = "owner"
# No letters that are taken for one another when they are copied from the screen.
_SIGNS: Final = "abcdefghjkmnpqrstuvwxyz23456789"


class Command(BaseCommand):
    help = "Fill an empty installation with the demo shop, or with DEMO=0 only with an owner."

    def handle(self, *_args: Any, **_options: Any) -> None:  # Any: Django's own signature
        if settings.DEMO:
            self.stdout.write("Loading the demo shop")
            call_command("load_demo", stdout=self.stdout)
            return
        password = "-".join("".join(secrets.choice(_SIGNS) for _ in range(4)) for _ in range(4))
        try:
            add_first_owner(username=OWNER, password=password, at=timezone.now())
        except NotTheFirst as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(
            f"The shop is empty. Sign in as {OWNER!r}, password {password!r}.\n"
            "It is not shown again: choose your own on the page Password, under your name."
        )
