"""What every screen of import and export does at the door."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, TypeVar

from django.core.exceptions import ValidationError
from django.http import Http404

from inventory.access import Deed, require
from inventory.calc.errors import CalcError
from inventory.models import ImportRun, Style, User
from inventory.queries import exchange as ask
from inventory.services.importing.runs import DEEDS
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from django.forms import BaseForm
    from django.http import HttpRequest

T = TypeVar("T")


def allowed(request: HttpRequest, deed: Deed) -> User:
    """The signed-in person, if they may do the deed; `NotAllowed` otherwise."""
    require(request.user, deed)
    assert isinstance(request.user, User)
    return request.user


def importer(request: HttpRequest, kind: str) -> User:
    """The signed-in person, if they may bring in files of this kind."""
    if kind not in DEEDS:
        raise Http404(f"There is no import called {kind!r}.")
    return allowed(request, DEEDS[kind])


def run_for(request: HttpRequest, pk: int) -> tuple[ImportRun, User]:
    """The run at this address and the person, if they may bring in files of its kind."""
    allowed(request, Deed.BRING_IN)
    run = ask.run_by_pk(pk)
    if run is None:
        raise Http404("There is no import at this address.")
    return run, importer(request, run.kind)


def found_style(code: str) -> Style:
    """The style of this code, or a page that says there is none."""
    style = Style.objects.filter(code=code).first()
    if style is None:
        raise Http404(f"There is no style {code} at this address.")
    return style


def attempt(form: BaseForm, deed: Callable[[], T]) -> T | None:
    """Do what a form asks for; what refuses it is shown at its box, and None comes back."""
    try:
        return deed()
    except Refused as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, str(refusal))
    except CalcError as refusal:
        form.add_error(None, str(refusal))
    except ValidationError as refusal:
        for sentence in refusal.messages:
            form.add_error(None, sentence)
    return None
