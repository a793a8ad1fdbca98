"""One shape for every error: problem details (RFC 9457), `application/problem+json`.

    {"type": "about:blank", "title": "Not found", "status": 404, "detail": "There is no piece P000999. …"}

A refused input adds `errors`: one entry per box with a JSON Pointer (RFC 6901) and a sentence. Where a
service names the situation, `type` is a relative address of that name, such as `/problems/client-key-reused`,
so that a program can tell situations apart without reading sentences.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from inventory.calc.errors import CalcError
from inventory.services.refusals import Refused

MEDIA_TYPE = "application/problem+json"
CONFLICTS = frozenset({"ClientKeyReused", "NothingToAnswer", "SpecIsFrozen"})

Details = Any  # Any: DRF's nested lists and dicts of ErrorDetail


def handle(error: Exception, context: Mapping[str, Any]) -> Response | None:  # Any: DRF's own signature
    """DRF's exception handler; None lets an unforeseen error become a logged 500."""
    foreseen = _as_api_error(error)
    response = exception_handler(foreseen, dict(context))
    if response is None:
        return None
    set_rollback()
    body = problem(HTTPStatus(response.status_code), detail=_sentence(foreseen), kind=_kind(error))
    if isinstance(foreseen, exceptions.ValidationError):
        body["errors"] = list(_entries(foreseen.detail))
    response.data = body
    response.content_type = MEDIA_TYPE
    return response


def problem(status: HTTPStatus, *, detail: str, kind: str = "about:blank") -> dict[str, Any]:  # Any: JSON
    """The body of a problem."""
    return {"type": kind, "title": status.phrase, "status": int(status), "detail": detail}


def _as_api_error(error: Exception) -> Exception:
    """Errors of services and calculations as the DRF errors of the same meaning."""
    if isinstance(error, exceptions.APIException | Http404):
        return error
    if isinstance(error, PermissionDenied):
        return exceptions.PermissionDenied(str(error) or None)
    if isinstance(error, ValidationError):
        return exceptions.ValidationError(
            error.message_dict if hasattr(error, "error_dict") else error.messages
        )
    if isinstance(error, Refused | CalcError):
        if type(error).__name__ in CONFLICTS:
            return Conflict(str(error))
        field = getattr(error, "field", "")
        return exceptions.ValidationError({field: [str(error)]} if field else [str(error)])
    return error


class Conflict(exceptions.APIException):
    status_code = HTTPStatus.CONFLICT
    default_detail = "This is at odds with what is stored."
    default_code = "conflict"


def _kind(error: Exception) -> str:
    if isinstance(error, Refused | CalcError):
        return "/problems/" + re.sub(r"(?<!^)(?=[A-Z])", "-", type(error).__name__).lower()
    return "about:blank"


def _sentence(error: Exception) -> str:
    if isinstance(error, exceptions.ValidationError):
        said = [sentence for _, sentence in _walk(error.detail, "")]
        return said[0] if len(said) == 1 else f"{len(said)} things are wrong with what was sent; see errors."
    if isinstance(error, exceptions.APIException):
        return str(error.detail)
    return str(error) or "There is no such record."


def _entries(detail: Details) -> Iterator[dict[str, str]]:
    for pointer, sentence in _walk(detail, ""):
        yield {"pointer": pointer, "detail": sentence}


def _walk(detail: Details, pointer: str) -> Iterator[tuple[str, str]]:
    if isinstance(detail, Mapping):
        for key, inner in detail.items():
            at = pointer if key == "non_field_errors" else f"{pointer}/{_escaped(str(key))}"
            yield from _walk(inner, at)
    elif isinstance(detail, list):
        for place, inner in enumerate(detail):
            # A list of sentences belongs to one box; a list of mappings to the rows of a list.
            yield from _walk(inner, f"{pointer}/{place}" if isinstance(inner, Mapping | list) else pointer)
    else:
        yield pointer, str(detail)


def _escaped(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")
