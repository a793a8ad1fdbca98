"""People: the list, adding one, changing a role, setting a lost password anew, changing one's own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters

from inventory.access import Deed
from inventory.models import User
from inventory.services.people import add_person, change_own_password, change_person, reset_password
from inventory.web.entrance import allowed, attempt, found, typed_in
from inventory.web.setup.forms.people import NewPasswordForm, NewPersonForm, OwnPasswordForm, PersonForm

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse


def people_list(request: HttpRequest) -> HttpResponse:
    """Everybody who works here or did."""
    person = allowed(request, Deed.ADMINISTER)
    people = sorted(User.objects.all(), key=lambda one: (not one.is_active, str(one).casefold()))
    return render(request, "inventory/setup/people.html", {"people": people, "oneself": person})


@sensitive_post_parameters("password")
def person_new(request: HttpRequest) -> HttpResponse:
    """Let somebody sign in."""
    owner = allowed(request, Deed.ADMINISTER)
    form = NewPersonForm(typed_in(request))
    if request.method == "POST" and form.is_valid():
        added = attempt(form, lambda: add_person(by=owner, at=timezone.now(), **form.cleaned_data))
        if added is not None:
            messages.success(request, f"{added} can sign in as {added.username}.")
            return redirect("people")
    return render(request, "inventory/setup/person_form.html", {"form": form})


def person_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a person's name or role, or whether they may sign in."""
    owner = allowed(request, Deed.ADMINISTER)
    person = found(User.objects.filter(pk=pk).first(), "person")
    form = PersonForm(typed_in(request), row=person)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, lambda: change_person(person=person, by=owner, at=timezone.now(), **form.cleaned_data)
        )
        if changed is not None:
            messages.success(request, f"{changed} is saved.")
            return redirect("people" if changed.pk != owner.pk or changed.role == owner.role else "home")
    return render(request, "inventory/setup/person_form.html", {"form": form, "person": person})


@sensitive_post_parameters("password", "again")
def person_password(request: HttpRequest, pk: int) -> HttpResponse:
    """Set a new password for somebody who lost theirs."""
    owner = allowed(request, Deed.ADMINISTER)
    person = found(User.objects.filter(pk=pk).first(), "person")
    form = NewPasswordForm(typed_in(request))
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form,
            lambda: reset_password(
                person=person, password=form.cleaned_data["password"], by=owner, at=timezone.now()
            ),
        )
        if changed is not None:
            if changed.pk == owner.pk:
                update_session_auth_hash(request, changed)
            messages.success(request, f"{changed} has a new password. Their other sign-ins have ended.")
            return redirect("people")
    return render(request, "inventory/setup/person_password.html", {"form": form, "person": person})


@sensitive_post_parameters("old_password", "password", "again")
def password_change(request: HttpRequest) -> HttpResponse:
    """Set one's own new password; this sign-in stays, all others end."""
    person = allowed(request, Deed.VIEW)
    form = OwnPasswordForm(typed_in(request))
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        changed = attempt(
            form,
            lambda: change_own_password(
                by=person, old=typed["old_password"], password=typed["password"], at=timezone.now()
            ),
        )
        if changed is not None:
            update_session_auth_hash(request, changed)
            messages.success(request, "Your password is changed. Your sign-ins elsewhere have ended.")
            return redirect("password-change")
    return render(request, "inventory/setup/password_change.html", {"form": form})
