"""What every screen does at the door: ask for the right, and show in the form what was refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from django.core.exceptions import ValidationError
from django.http import Http404

from inventory.access import Deed, may, require
from inventory.calc.errors import CalcError
from inventory.models import User
from inventory.models.specs import SpecIsFrozen
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from django.forms import BaseForm
    from django.http import HttpRequest, QueryDict

T = TypeVar("T")


def allowed(request: HttpRequest, deed: Deed) -> User:
    """The signed-in person, if they may do the deed; `NotAllowed` otherwise."""
    require(request.user, deed)
    assert isinstance(request.user, User)
    return request.user


def may_set_up(request: HttpRequest) -> bool:
    """Whether to offer the person what only setting up may do."""
    return may(request.user, Deed.SET_UP)


def typed_in(request: HttpRequest) -> QueryDict | None:
    """What was sent with a form, even if all its boxes were empty; None when the page is only looked at."""
    return request.POST if request.method == "POST" else None


def found(row: T | None, what: str) -> T:
    """The row, or a page that says what was not found."""
    if row is None:
        raise Http404(f"There is no {what} at this address.")
    return row


def attempt(form: BaseForm, deed: Callable[[], T]) -> T | None:
    """Do what a form asks for; what refuses it is shown at its box, and None comes back."""
    try:
        return deed()
    except Refused as refusal:
        _show(form, refusal.field, str(refusal))
    except (CalcError, SpecIsFrozen) as refusal:
        _show(form, "", str(refusal))
    except ValidationError as refusal:
        if hasattr(refusal, "error_dict"):
            for field, sentences in refusal.message_dict.items():
                for sentence in sentences:
                    _show(form, field, sentence)
        else:
            for sentence in refusal.messages:
                _show(form, "", sentence)
    return None


def _show(form: BaseForm, field: str, sentence: str) -> None:
    form.add_error(field if field in form.fields else None, sentence)
