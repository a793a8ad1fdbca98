"""What the admin pages share: audit rows for changes, lengths typed in any unit, rows only to look at."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.contrib import admin
from django.contrib.admin.widgets import AdminTextInputWidget
from django.db import models
from django.forms import BaseInlineFormSet
from django.utils import timezone

from inventory.calc.length import Unit, show_exact
from inventory.fields import NanometreField, OptionalNanometreField
from inventory.models import User
from inventory.services.audit import leave_row
from inventory.services.changes import plain

if TYPE_CHECKING:
    from django.forms import BaseModelFormSet, ModelForm
    from django.http import HttpRequest

    AnyAdmin = admin.ModelAdmin[Any]  # Any: pages of every model share these habits
    AnyInline = admin.TabularInline[Any, Any]  # Any: likewise
    AnyInlineFormSet = BaseInlineFormSet[Any, Any, Any]  # Any: likewise
else:
    AnyAdmin = admin.ModelAdmin
    AnyInline = admin.TabularInline
    AnyInlineFormSet = BaseInlineFormSet


class NamedBoxes(AnyInlineFormSet):
    """Rows of a table whose boxes carry their column's name: its heading alone is no label."""

    def add_fields(self, form: Any, index: int | None) -> None:  # Any: a form of any model
        super().add_fields(form, index)
        for field in form.fields.values():
            # The framework wraps the box of a related row, and draws the one within.
            box = getattr(field.widget, "widget", field.widget)
            box.attrs.setdefault("aria-label", str(field.label or ""))


class NamedInline(AnyInline):
    """Rows beneath another row, each box with a name."""

    formset = NamedBoxes


TYPED_LENGTHS: dict[type[models.Field[Any, Any]], dict[str, Any]] = {  # Any: Django's own shape
    # Django would draw a number box, which takes neither `13 1/2 in` nor `34,3 cm`.
    NanometreField: {"widget": AdminTextInputWidget},
    OptionalNanometreField: {"widget": AdminTextInputWidget},
}


def shown_length(name: str, words: str) -> Any:  # Any: Django takes a function as a field, its stubs do not
    """A column with a stored length in millimetres, exactly; nanometres say nothing to a reader."""

    @admin.display(description=words, ordering=name, empty_value="–")
    def column(row: models.Model) -> str:
        nm = getattr(row, name)
        return "–" if nm is None else show_exact(nm, unit=Unit.MM)

    column.__name__ = f"shown_{name}"
    return column


class AuditedAdmin(AnyAdmin):
    """A page whose every change leaves an audit row, with what was there before."""

    formfield_overrides = TYPED_LENGTHS
    list_per_page = 50

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:  # noqa: FBT001  # Any: Django's own
        super().save_model(request, obj, form, change)
        self._leave_row(request, "change" if change else "add", obj, changed=changed_of(form))

    def delete_model(self, request: HttpRequest, obj: Any) -> None:  # Any: Django's own signature
        self._leave_row(request, "delete", obj)
        super().delete_model(request, obj)

    def delete_queryset(
        self, request: HttpRequest, queryset: models.QuerySet[Any]
    ) -> None:  # Any: Django's own
        for obj in queryset:
            self.delete_model(request, obj)

    def save_formset(
        self,
        request: HttpRequest,
        form: ModelForm[Any],  # Any: rows of every model
        formset: BaseModelFormSet[Any, Any],  # Any: likewise
        change: bool,  # noqa: FBT001  # Django's own signature
    ) -> None:
        """Save the rows beneath, and leave an audit row for each that came, went or changed."""
        super().save_formset(request, form, formset, change)
        for row in formset.new_objects:
            self._leave_row(request, "add", row)
        for row, fields in formset.changed_objects:
            self._leave_row(request, "change", row, fields=sorted(fields))
        for row in formset.deleted_objects:
            leave_row(
                who=_person(request),
                deed=_deed("delete", row),
                subject=form.instance,
                at=timezone.now(),
                gone=str(row),
            )

    def _leave_row(
        self, request: HttpRequest, verb: str, row: models.Model, **detail: Any
    ) -> None:  # Any: JSON
        leave_row(
            who=_person(request),
            deed=_deed(verb, row),
            subject=row,
            at=timezone.now(),
            **{name: value for name, value in detail.items() if value},
        )


class LookOnly:
    """Rows that nobody adds, changes or deletes here: they are evidence, or written by a service alone."""

    def has_add_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return False


class NeverDeleted:
    """Rows that are switched off rather than deleted: others point to them."""

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002  # Any: Django's own
        return False


def changed_of(form: Any) -> dict[str, list[Any]]:  # Any: a form of any model
    """What a form changed, each with what was there and what is, as JSON can hold it; no passwords."""
    return {
        name: [plain(form.initial.get(name)), plain(form.cleaned_data.get(name))]
        for name in form.changed_data
        if "password" not in name
    }


def _deed(verb: str, row: models.Model) -> str:
    words = row._meta.verbose_name  # noqa: SLF001  # Django's public face of a model
    return f"admin: {verb} {words}"[:40]


def _person(request: HttpRequest) -> User:
    assert isinstance(request.user, User)  # the admin site lets nobody else in
    return request.user
