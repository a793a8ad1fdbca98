"""One shape for every error: problem details (RFC 9457), `application/problem+json`.

    {"type": "about:blank", "title": "Not Found", "status": 404, "detail": "There is no piece P000999. …"}

`errors` has one entry per place that is wrong: a JSON Pointer (RFC 6901) into the body, or the name of a
parameter, and a sentence. Where a service names the situation, `type` is a relative address of that name,
such as `/problems/client-key-reused`, so that a program can tell situations apart without reading sentences.

400: the request is not what the schema asks for.
422: it is, and the shop's rules or records speak against it.
409: it is at odds with what is stored; look before trying again.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from http import HTTPStatus
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from django.conf import settings
from django.core.exceptions import (
    PermissionDenied,
    RequestDataTooBig,
    SuspiciousOperation,
    TooManyFieldsSent,
    TooManyFilesSent,
    ValidationError,
)
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views import defaults
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

from inventory.api.frame import sentences
from inventory.api.frame.errors import Against, Conflict, TooLarge, WrongParameters
from inventory.calc.errors import CalcError
from inventory.models.specs import SpecIsFrozen
from inventory.queries.bench.sheet import PieceNotFound
from inventory.queries.plans import SizeNotInSpec
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    Details = Any  # Any: DRF's nested lists and dicts of ErrorDetail

MEDIA_TYPE: Final = "application/problem+json"
PREFIX: Final = "/api/"
CONFLICTS: Final = frozenset(
    {
        "ClientKeyReused",
        "DecidedAlready",
        "DocumentNotMade",
        "DrawnAlready",
        "NotDecidedYet",
        "NotReady",
        "NotYetMeasured",
        "NothingToAnswer",
        "SittingIsOver",
        "SpecIsFrozen",
        "StoredBefore",
    }
)
NAMED: Final = (Refused, CalcError, SizeNotInSpec, SpecIsFrozen)
"""Errors that are named after a situation and carry a sentence for whoever asked."""
NOWHERE: Final[Mapping[type[Exception], str]] = MappingProxyType({})


def handle(error: Exception, context: Mapping[str, Any]) -> Response | None:  # Any: DRF's own signature
    """DRF's exception handler; None lets an unforeseen error become a logged 500."""
    points_at = getattr(context.get("view"), "points_at", {})
    foreseen = as_api_error(error, points_at)
    response = exception_handler(foreseen, dict(context))
    if response is None:
        return None
    set_rollback()
    body = problem(HTTPStatus(response.status_code), detail=_sentence(foreseen, context), kind=_kind(error))
    if isinstance(foreseen, exceptions.ValidationError):
        body["errors"] = list(_entries(foreseen))
    response.data = body
    response.content_type = MEDIA_TYPE
    return response


def problem(status: HTTPStatus, *, detail: str, kind: str = "about:blank") -> dict[str, Any]:  # Any: JSON
    """The body of a problem."""
    return {"type": kind, "title": status.phrase, "status": int(status), "detail": detail}


def as_api_error(error: Exception, points_at: Mapping[type[Exception], str] = NOWHERE) -> Exception:
    """Errors of services, queries and calculations as the DRF errors of the same meaning.

    `points_at` says which place of the body such an error is about where it does not say so itself.
    """
    if isinstance(error, exceptions.APIException | Http404):
        return error
    if isinstance(error, PermissionDenied):
        return exceptions.PermissionDenied(str(error) or None)
    if isinstance(error, PieceNotFound):
        return exceptions.NotFound(str(error))
    if isinstance(error, ValidationError):
        return Against(error.message_dict if hasattr(error, "error_dict") else error.messages)
    if isinstance(error, NAMED):
        return _as_refusal(error, points_at)
    return _as_request_error(error)


def server_error(request: HttpRequest) -> HttpResponse:
    """Django's handler of unforeseen errors: a problem under /api/, the page everywhere else."""
    if not request.path.startswith(PREFIX):
        return defaults.server_error(request)
    return _bare(
        HTTPStatus.INTERNAL_SERVER_ERROR,
        "Something unforeseen happened here; it is in the server's log. Look at what is stored before "
        "sending it again.",
    )


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Django's handler of requests refused before any view sees them, such as a host that is not ours."""
    if not request.path.startswith(PREFIX):
        return defaults.bad_request(request, exception)
    return _bare(HTTPStatus.BAD_REQUEST, "The request cannot be read, or names a host that is not served.")


def _bare(status: HTTPStatus, detail: str) -> JsonResponse:
    return JsonResponse(problem(status, detail=detail), status=int(status), content_type=MEDIA_TYPE)


def _as_refusal(error: Exception, points_at: Mapping[type[Exception], str]) -> exceptions.APIException:
    if type(error).__name__ in CONFLICTS:
        return Conflict(str(error))
    place = getattr(error, "field", "") or next(
        (place for kind, place in points_at.items() if isinstance(error, kind)), ""
    )
    said: Any = [str(error)]  # Any: DRF's nested lists and dicts
    for step in reversed(place.split("/") if place else []):
        said = {step: said}
    return Against(said)


def _as_request_error(error: Exception) -> Exception:
    if isinstance(error, RequestDataTooBig | TooManyFieldsSent | TooManyFilesSent):
        most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE // (1024 * 1024)
        return TooLarge(f"The request is larger than what is read at once: {most} MB. Send it in parts.")
    if isinstance(error, SuspiciousOperation):
        return exceptions.ParseError(str(error))
    return error


def _kind(error: Exception) -> str:
    if isinstance(error, NAMED):
        return "/problems/" + re.sub(r"(?<!^)(?=[A-Z])", "-", type(error).__name__).lower()
    return "about:blank"


def _sentence(error: Exception, context: Mapping[str, Any]) -> str:  # Any: DRF's own context
    if isinstance(error, exceptions.ValidationError):
        said = [sentence for _, sentence in _walk(error.detail, "")]
        return said[0] if len(said) == 1 else f"{len(said)} things are wrong with what was sent; see errors."
    if isinstance(error, exceptions.APIException):
        return sentences.of_request(error, context)
    return str(error) or "There is no such record."


def _entries(error: exceptions.ValidationError) -> Iterator[dict[str, str]]:
    place = "parameter" if isinstance(error, WrongParameters) else "pointer"
    for pointer, sentence in _walk(error.detail, ""):
        yield {place: pointer.lstrip("/") if place == "parameter" else pointer, "detail": sentence}


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
        yield pointer, sentences.of_field(str(detail), pointer.rpartition("/")[2])


def _escaped(key: str) -> str:
    return key.replace("~", "~0").replace("/", "~1")
