"""Who works here: add people, change their role, set a lost password anew."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypedDict, Unpack

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from inventory.access import Deed, require
from inventory.models import User
from inventory.models.people import Role
from inventory.services.audit import leave_row
from inventory.services.changes import changed_row
from inventory.services.refusals import Refused
from inventory.services.tokens import end_token

if TYPE_CHECKING:
    import datetime as dt


class UserNameTaken(Refused):
    """Two people cannot sign in under one name."""


class UserNameImpossible(Refused):
    """A name to sign in with has no sign that is hard to type or to see."""


class LastOwner(Refused):
    """Without an owner nobody could set anything up again."""


class WrongPassword(Refused):
    """The old password was not the right one."""


class PersonValues(TypedDict, total=False):
    """What the owner can say of a person; see the model's fields."""

    username: str
    first_name: str
    last_name: str
    email: str
    role: str
    is_active: bool


class NotTheFirst(Refused):
    """Somebody works here already and can add people."""


@transaction.atomic
def add_first_owner(*, username: str, password: str, at: dt.datetime) -> User:
    """Let the first owner into an empty installation. Raises `NotTheFirst`, and `ValidationError`."""
    if User.objects.exists():
        raise NotTheFirst("There are people here already. Let an owner sign in and add others.")
    owner = User(username=username, role=Role.OWNER)
    _check_password(password, of=owner)
    owner.set_password(password)
    owner.full_clean(validate_unique=False)
    owner.save()
    leave_row(who=owner, deed="add first owner", subject=owner, at=at, username=username)
    return owner


@transaction.atomic
def add_person(*, password: str, by: User, at: dt.datetime, **values: Unpack[PersonValues]) -> User:
    """Let somebody sign in. Raises `UserNameTaken`, and `ValidationError` for a weak password."""
    require(by, Deed.ADMINISTER)
    person = User(**values)
    _check_signs(person.username)
    _check_password(password, of=person)
    person.set_password(password)
    person.full_clean(validate_unique=False)
    _check_name_is_free(person)
    person.save()
    leave_row(who=by, deed="add person", subject=person, at=at, username=person.username, role=person.role)
    return person


@transaction.atomic
def change_person(*, person: User, by: User, at: dt.datetime, **values: Unpack[PersonValues]) -> User:
    """Change a person's name, role, or whether they may sign in. Raises `LastOwner`, `UserNameTaken`."""
    require(by, Deed.ADMINISTER)
    _check_signs(values.get("username", ""))
    stored, changed = changed_row(person, dict(values))
    if changed:
        check_an_owner_stays(stored)
        _check_name_is_free(stored)
        stored.save()
        leave_row(who=by, deed="change person", subject=stored, at=at, changed=changed)
    return stored


@transaction.atomic
def reset_password(*, person: User, password: str, by: User, at: dt.datetime) -> User:
    """Set a new password for somebody who lost theirs; all their sign-ins end, their token's too.

    Raises `ValidationError`.
    """
    require(by, Deed.ADMINISTER)
    _check_password(password, of=person)
    person.set_password(password)
    person.save(update_fields=["password"])
    leave_row(who=by, deed="reset password", subject=person, at=at)
    end_token(of=person, by=by, at=at)
    return person


@transaction.atomic
def change_own_password(*, by: User, old: str, password: str, at: dt.datetime) -> User:
    """Set one's own new password; one's token ends. Raises `WrongPassword`, `ValidationError`."""
    require(by, Deed.VIEW)
    if not by.check_password(old):
        raise WrongPassword("The old password does not fit. Type it again.", field="old_password")
    _check_password(password, of=by)
    by.set_password(password)
    by.save(update_fields=["password"])
    leave_row(who=by, deed="change own password", subject=by, at=at)
    end_token(of=by, by=by, at=at)
    return by


def check_an_owner_stays(person: User) -> None:
    """Raise `LastOwner` when, with the person as now set but not yet saved, no active owner would be left."""
    if person.role == Role.OWNER and person.is_active:
        return
    others = User.objects.filter(role=Role.OWNER, is_active=True).exclude(pk=person.pk)
    if not others.exists() and User.objects.filter(pk=person.pk, role=Role.OWNER, is_active=True).exists():
        raise LastOwner(
            f"{person} is the only owner who can sign in. Make somebody else an owner first.",
            field="role" if person.role != Role.OWNER else "is_active",
        )


def _check_password(password: str, *, of: User) -> None:
    """Raise `ValidationError`, which names the box it was typed in."""
    try:
        validate_password(password, user=of)
    except ValidationError as refusal:
        raise ValidationError({"password": refusal.error_list}) from refusal


def _check_signs(username: str) -> None:
    """Raise `UserNameImpossible`, which names the signs that are one too many."""
    wrong = dict.fromkeys(re.findall(r"[^\w.@+-]", username))
    if wrong:
        said = " and ".join("a space" if sign.isspace() else f"{sign!r}" for sign in wrong)
        cure = re.sub(r"[^\w.@+-]+", ".", username.strip()).strip(".")
        such_as = f", such as {cure!r}" if cure else ""
        raise UserNameImpossible(
            f"{username!r} has {said} in it. Use letters, digits and @ . + - _ only{such_as}.",
            field="username",
        )


def _check_name_is_free(person: User) -> None:
    if User.objects.filter(username__iexact=person.username).exclude(pk=person.pk).exists():
        raise UserNameTaken(
            f"Somebody signs in as {person.username!r} already. Choose another name.", field="username"
        )
