"""The passwords a shop begins with, known to more people than their owners, and who still has one.

The demo's is printed in the instructions, the first owner's on the screen of the first start. Whether one is
still in use is looked at when an owner signs in, since looking takes as long as a sign-in.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Iterable
from typing import Final

from inventory.models import AuditRow, User

DEMO_PASSWORD: Final = "measure-twice"  # noqa: S105  # printed with the demo sign-ins
DEMO_NAMES: Final = ("owner", "inspector", "second", "viewer")
# No letters that are taken for one another when they are copied from the screen.
_SIGNS: Final = "abcdefghjkmnpqrstuvwxyz23456789"
_PRINTED: Final = re.compile(rf"[{_SIGNS}]{{4}}(-[{_SIGNS}]{{4}}){{3}}")
_CHANGED: Final = ("reset password", "change own password")


def printed_password() -> str:
    """A new password for the first owner, easy to copy from the screen."""
    return "-".join("".join(secrets.choice(_SIGNS) for _ in range(4)) for _ in range(4))


def names_with_first_password(*, owner: User, typed: str) -> list[str]:
    """Who still signs in with what the shop began with; `typed` is what the owner has just signed in with."""
    unchanged = still_unchanged(DEMO_NAMES)
    found = [person.username for person in unchanged if person.check_password(DEMO_PASSWORD)]
    if _PRINTED.fullmatch(typed) and still_unchanged([owner.username]):
        found.append(owner.username)
    return found


def still_unchanged(names: Iterable[str]) -> list[User]:
    """Of these people, those who may sign in and whose password no screen has changed; two statements."""
    people = list(User.objects.filter(username__in=list(names), is_active=True).order_by("pk"))
    changed = AuditRow.objects.filter(
        subject_type="user", subject_id__in=[person.pk for person in people], deed__in=_CHANGED
    )
    gone = set(changed.values_list("subject_id", flat=True))
    return [person for person in people if person.pk not in gone]
