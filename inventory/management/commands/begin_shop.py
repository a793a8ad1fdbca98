"""`manage.py begin_shop`: what a first start puts into an empty installation, the demo shop or one owner."""

from __future__ import annotations

from typing import Any, Final

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from inventory.models import User
from inventory.services.first_passwords import printed_password
from inventory.services.people import NotTheFirst, add_first_owner

OWNER: Final = "owner"


class Command(BaseCommand):
    help = "Fill an empty installation with the demo shop, or with DEMO=0 only with an owner."

    def add_arguments(self, parser: CommandParser) -> None:
        """Let a first start that was cut off be taken up again."""
        parser.add_argument(
            "--resume",
            action="store_true",
            help="Be content with what a start that was cut off had finished.",
        )

    def handle(self, *_args: Any, resume: bool, **_options: Any) -> None:  # Any: Django's own signature
        # Each way of beginning is one transaction: where anybody is, it was complete.
        if resume and User.objects.exists():
            self.stdout.write(
                "The shop was filled by a start that was cut off. If you did not see its password: "
                f".venv/bin/python manage.py changepassword {OWNER}"
            )
            return
        if settings.DEMO:
            self.stdout.write("Loading the demo shop")
            call_command("load_demo", stdout=self.stdout)
            return
        password = printed_password()
        try:
            add_first_owner(username=OWNER, password=password, at=timezone.now())
        except NotTheFirst as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write(
            f"The shop is empty. Sign in as {OWNER!r}, password {password!r}.\n"
            "It is not shown again: choose your own under Change password."
        )
