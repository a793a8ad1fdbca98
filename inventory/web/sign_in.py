"""The sign-in: name and password, not too often in vain; and whether first passwords are still in use."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView
from django.core.exceptions import ValidationError
from django.utils import timezone
from rest_framework.throttling import BaseThrottle

from inventory.access import Deed, may
from inventory.models import User
from inventory.services import sign_in_tries
from inventory.services.first_passwords import names_with_first_password, still_unchanged

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

FIRST_PASSWORDS: Final = "first_passwords"  # in the session: who still has one


class SignInForm(AuthenticationForm):
    """Name and password; after several failures the next try has to wait a little."""

    seconds_to_wait = 0
    error_messages = {**AuthenticationForm.error_messages, "invalid_login": sign_in_tries.NOT_RIGHT}

    def clean(self) -> dict[str, Any]:  # Any: Django's own type
        """Who it is; refused without a look at the password while there is to wait."""
        name, address = self.cleaned_data.get("username") or "", _address_of(self.request)
        wait = sign_in_tries.seconds_to_wait(name=name, address=address, now=timezone.now())
        if wait:
            self.seconds_to_wait = wait
            seconds = "1 second" if wait == 1 else f"{wait} seconds"
            raise ValidationError(f"Too many tries in vain. Wait {seconds}, then try again.", code="wait")
        sign_in_tries.note_try(name=name, address=address, now=timezone.now())
        cleaned: dict[str, Any] = super().clean()
        sign_in_tries.forgive(name=name, address=address)
        return cleaned


class SignIn(LoginView):
    """The page; whoever is signed in already goes on."""

    template_name = "inventory/sign_in.html"
    redirect_authenticated_user = True
    authentication_form = SignInForm

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        """Sign in; an owner is reminded of first passwords that are still in use."""
        answer = super().form_valid(form)
        person = form.get_user()
        if may(person, Deed.ADMINISTER):
            typed = form.cleaned_data.get("password", "")
            self.request.session[FIRST_PASSWORDS] = names_with_first_password(owner=person, typed=typed)
        return answer

    def form_invalid(self, form: AuthenticationForm) -> HttpResponse:
        """The form again with what was wrong; 429 says to programs that there is to wait."""
        answer = super().form_invalid(form)
        if isinstance(form, SignInForm) and form.seconds_to_wait:
            answer.status_code = 429
            answer["Retry-After"] = str(form.seconds_to_wait)
        return answer


def first_passwords_in_use(request: HttpRequest) -> list[User]:
    """Whom to remind of: found at the sign-in of this owner, and not changed since."""
    names = request.session.get(FIRST_PASSWORDS)
    return still_unchanged(names) if names and may(request.user, Deed.ADMINISTER) else []


def _address_of(request: HttpRequest | None) -> str:
    """The caller's address, as the API counts it: what our own proxy says, not what the caller writes."""
    return "" if request is None else BaseThrottle().get_ident(request)  # type: ignore[arg-type]  # reads META only
