"""People: names, roles and passwords. The role is the only switch."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.forms import UserChangeForm
from django.contrib.auth.models import Group
from django.utils import timezone

from inventory.admin.audited import AuditedAdmin, NeverDeleted
from inventory.models import User
from inventory.services.audit import leave_row
from inventory.services.people import check_an_owner_stays
from inventory.services.refusals import Refused
from inventory.services.tokens import end_token

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    AnyUserAdmin = UserAdmin[User]
    AnyUserChangeForm = UserChangeForm[User]
else:
    AnyUserAdmin = UserAdmin
    AnyUserChangeForm = UserChangeForm

# The framework's groups give no right here, so nobody shall think they do.
admin.site.unregister(Group)


class PersonForm(AnyUserChangeForm):
    def clean(self) -> dict[str, Any] | None:  # Any: Django's own signature
        """Refuse what would leave the shop without an owner."""
        cleaned = super().clean()
        person = self.instance
        before = (person.role, person.is_active)
        person.role = self.cleaned_data.get("role", person.role)
        person.is_active = self.cleaned_data.get("is_active", person.is_active)
        try:
            check_an_owner_stays(person)
        except Refused as refusal:
            person.role, person.is_active = before
            raise forms.ValidationError(str(refusal)) from refusal
        return cleaned


@admin.register(User)
class PersonAdmin(NeverDeleted, AuditedAdmin, AnyUserAdmin):
    form = PersonForm
    list_display = ("username", "first_name", "last_name", "role", "is_active", "last_login")
    list_filter = ("role", "is_active")
    search_fields = ("username", "first_name", "last_name", "email")
    filter_horizontal = ()
    readonly_fields = ("last_login", "date_joined")
    fieldsets = (
        (None, {"fields": ("username", "password")}),
        ("Person", {"fields": ("first_name", "last_name", "email")}),
        ("What they may do", {"fields": ("role", "is_active")}),
        ("Dates", {"fields": ("last_login", "date_joined")}),
    )
    add_fieldsets = (
        (None, {"classes": ("wide",), "fields": ("username", "usable_password", "password1", "password2")}),
        ("What they may do", {"fields": ("role",)}),
    )

    def user_change_password(self, request: HttpRequest, id: str, form_url: str = "") -> HttpResponse:  # noqa: A002  # Django's own signature
        """Set a person's password, with an audit row once it is set; their token ends."""
        person = self.get_object(request, id)
        before = None if person is None else person.password
        answer = super().user_change_password(request, id, form_url)
        changed = self.get_object(request, id)
        if changed is not None and changed.password != before:
            assert isinstance(request.user, User)
            at = timezone.now()
            leave_row(who=request.user, deed="admin: reset password", subject=changed, at=at)
            end_token(of=changed, by=request.user, at=at)
        return answer
