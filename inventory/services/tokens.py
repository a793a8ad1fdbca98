"""Tokens by which another program signs in as a person."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import transaction
from rest_framework.authtoken.models import Token

from inventory.access import Deed, require
from inventory.services.audit import leave_row

if TYPE_CHECKING:
    import datetime as dt

    from inventory.models import User


@transaction.atomic
def issue_token(*, by: User, at: dt.datetime) -> Token:
    """The person's token; made on the first call, the same one after that until it is revoked."""
    require(by, Deed.VIEW)
    token, created = Token.objects.get_or_create(user=by)
    if created:
        leave_row(who=by, deed="issue token", subject=by, at=at)
    return token


@transaction.atomic
def revoke_token(*, by: User, at: dt.datetime) -> None:
    """Every program that uses the person's token has to sign in anew; nothing happens when there is none."""
    require(by, Deed.VIEW)
    end_token(of=by, by=by, at=at)


def end_token(*, of: User, by: User, at: dt.datetime) -> None:
    """End a token, as a new password does: who knew the old one may hold it. The caller asks the right."""
    gone, _ = Token.objects.filter(user=of).delete()
    if gone:
        leave_row(who=by, deed="revoke token", subject=of, at=at)
