"""Sign in with name and password for a token; hand it back when the program is done."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.contrib.auth import authenticate
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.authentication import BaseAuthentication, TokenAuthentication
from rest_framework.exceptions import AuthenticationFailed, Throttled
from rest_framework.permissions import AllowAny, BasePermission
from rest_framework.response import Response
from rest_framework.throttling import ScopedRateThrottle

from inventory.api.frame.inputs import Input, Text
from inventory.api.frame.resource import Resource
from inventory.api.frame.shapes import Shape
from inventory.models import User
from inventory.models.people import Role
from inventory.services import sign_in_tries
from inventory.services.tokens import issue_token, revoke_token

if TYPE_CHECKING:
    from django.http import HttpRequest
    from rest_framework.request import Request
    from rest_framework.throttling import BaseThrottle


class SignIn(Input):
    """Name and password of somebody who works here."""

    username = Text(max_length=150)
    password = Text(max_length=4096, trim_whitespace=False, style={"input_type": "password"})


class SignedIn(Shape):
    """A token, and whose it is."""

    token = serializers.CharField(source="key", help_text="Send it as `Authorization: Token …`.")
    username = serializers.CharField(source="user.username")
    role = serializers.ChoiceField(source="user.role", choices=Role.choices)


class NotYet(BaseAuthentication):
    """Signing in is tried with name and password alone: an old token in the header must not hinder it."""

    def authenticate(self, request: Request) -> None:
        """Nobody yet."""

    def authenticate_header(self, request: Request) -> str:
        """The challenge that goes with a 401."""
        return TokenAuthentication.keyword


class TokenResource(Resource):
    throttle_scope = "token"
    also_refuses = (401, 429)

    def get_authenticators(self) -> list[BaseAuthentication]:
        """As everywhere, but for signing in itself."""
        # Without a request while the description is made.
        request: HttpRequest | None = self.request
        return [NotYet()] if request and request.method == "POST" else [TokenAuthentication()]

    def get_permissions(self) -> list[BasePermission]:
        """Anybody may try to sign in."""
        return [AllowAny()] if self.request.method == "POST" else super().get_permissions()  # type: ignore[return-value]

    def get_throttles(self) -> list[BaseThrottle]:
        """Few tries a minute from one address: looking at a password costs time on purpose."""
        return [ScopedRateThrottle()] if self.request.method == "POST" else []

    @extend_schema(request=SignIn, responses=SignedIn, auth=[])
    def post(self, request: Request) -> Response:
        """The token of a person, for name and password; the same one until it is handed back.

        After five tries of a name in vain the next has to wait, here as on the sign-in page: 429 says how
        long, in `Retry-After`.
        """
        sent = self.body(SignIn)
        name, address = sent["username"], ScopedRateThrottle().get_ident(request)
        wait = sign_in_tries.seconds_to_wait(name=name, address=address, now=timezone.now())
        if wait:
            raise Throttled(wait, "Too many tries in vain.")
        sign_in_tries.note_try(name=name, address=address, now=timezone.now())
        person = authenticate(request, username=name, password=sent["password"])
        if not isinstance(person, User):
            raise AuthenticationFailed(sign_in_tries.NOT_RIGHT)
        sign_in_tries.forgive(name=name, address=address)
        return self.shown(issue_token(by=person, at=timezone.now()), SignedIn)

    @extend_schema(request=None, responses={204: None})
    def delete(self, request: Request) -> Response:
        """Hand the token back: it opens nothing from now on."""
        revoke_token(by=self.person, at=timezone.now())
        return Response(status=204)
