"""What a browser sent to the bench, read strictly; and the answers it understands."""

from __future__ import annotations

import datetime as dt
import uuid
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Final

from django.http import HttpRequest, JsonResponse
from django.utils.dateparse import parse_datetime

from inventory.calc import length
from inventory.calc.errors import CalcError
from inventory.models.inspections import PieceState
from inventory.queries.bench.level_help import read_level
from inventory.services.inspections import TypedReading
from inventory.services.inspections.refusals import (
    CannotCorrect,
    ClientKeyReused,
    PointNotInWalk,
    ReadAlready,
    ReadByAnother,
    SittingIsOver,
)
from inventory.services.refusals import Refused

if TYPE_CHECKING:
    from django.http import QueryDict

READ_AGAIN: Final = "read again"
_LONGEST: Final = 200
_STATES: Final = frozenset(PieceState.values)


class BadMessage(Refused):
    """What came is not what the bench's own page sends."""


# What went wrong, the code the page's script knows it by, and the HTTP status.
_KNOWN: Final[tuple[tuple[type[Exception], str, int], ...]] = (
    (CalcError, "not-understood", 422),
    (CannotCorrect, "cannot-correct", 422),
    (SittingIsOver, "sitting-over", 409),
    (ReadAlready, "read-already", 409),
    (ReadByAnother, "read-by-another", 409),
    (PointNotInWalk, "not-in-walk", 409),
    (ClientKeyReused, "key-reused", 409),
    (BadMessage, "bad-message", 400),
)


def typed_reading(post: QueryDict, number: int) -> TypedReading:
    """The reading in a posted form. Raises `BadMessage`.

    Read by hand, not by a form: a form of as many fields takes longer than storing the reading.
    """
    code, _, side = post.get("step", "").rpartition("-")
    if not code:
        raise BadMessage(
            f"The step is {post.get('step', '')!r}, which names no point and side. Load the page again."
        )
    state = post.get("state") or PieceState.AS_RECEIVED
    if state not in _STATES:
        raise BadMessage(f"The state of the piece is {state!r}. Choose one of the list.")
    # The guard's question is a reason by itself; the person may say more, and nothing is said for them.
    reason = _text(post, "reason") or (READ_AGAIN if post.get("question") else "")
    return TypedReading(
        number=number,
        code=code,
        side=side,
        typed=_text(post, "typed"),
        unit=_unit(post),
        client_key=_key(post),
        taken_at=_moment(post),
        sitting=_whole(post, "sitting"),
        seen=_whole(post, "seen"),
        signed_by=_whole(post, "signed_by"),
        instrument=_whole(post, "tape"),
        piece_state=state,
        corrects=_whole(post, "corrects"),
        reason=reason,
        level=read_level(post.get("working", "")),
        room_temperature_c=_temperature(post),
        room_humidity_percent=_humidity(post),
    )


def wants_json(request: HttpRequest) -> bool:
    """Whether the page's script is asking; a browser by itself asks for a page."""
    return request.headers.get("Accept", "").startswith("application/json")


def status_of(refusal: Exception) -> int:
    """The HTTP status that fits a refusal."""
    return next((status for kind, _, status in _KNOWN if isinstance(refusal, kind)), 409)


def refusal_as_json(refusal: Exception) -> JsonResponse:
    """A refusal as a problem document, with a code the page's script knows."""
    code = next((code for kind, code, _ in _KNOWN if isinstance(refusal, kind)), "refused")
    status = status_of(refusal)
    body = {
        "type": "about:blank",
        "title": "Not stored",
        "status": status,
        "detail": str(refusal),
        "code": code,
    }
    return JsonResponse(body, status=status, content_type="application/problem+json")


def _text(post: QueryDict, name: str) -> str:
    text = post.get(name, "").strip()
    if len(text) > _LONGEST or "\x00" in text:
        raise BadMessage(f"The {name} is longer than {_LONGEST} signs or holds a forbidden one. Shorten it.")
    return text


def _whole(post: QueryDict, name: str) -> int | None:
    text = post.get(name, "")
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and len(text) <= 18):
        raise BadMessage(
            f"{name.replace('_', ' ').capitalize()} is {text[:40]!r}, no number. Load the page again."
        )
    return int(text)


def _unit(post: QueryDict) -> length.Unit | None:
    text = post.get("unit", "")
    try:
        return length.Unit(text) if text else None
    except ValueError:
        raise BadMessage(f"The unit is {text[:20]!r}. Choose mm, cm or in.") from None


def _key(post: QueryDict) -> uuid.UUID | None:
    text = post.get("key", "")
    try:
        return uuid.UUID(text) if text else None
    except ValueError:
        raise BadMessage(f"The reading's own key is {text[:60]!r}, no key. Load the page again.") from None


def _moment(post: QueryDict) -> dt.datetime | None:
    text = post.get("taken_at", "")
    if not text:
        return None
    try:
        moment = parse_datetime(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise BadMessage(
            f"The time of the reading is {text[:40]!r}, no time with its zone. Load the page again."
        )
    return moment


def _temperature(post: QueryDict) -> Decimal | None:
    text = _text(post, "room_temperature").replace(",", ".")
    if not text:
        return None
    try:
        degrees = Decimal(text).quantize(Decimal("0.1"))
    except InvalidOperation:
        degrees = Decimal(1000)
    if not (degrees.is_finite() and -20 <= degrees <= 60):
        raise BadMessage(
            f"The room temperature is {text[:20]!r}. Type degrees Celsius, such as 21, or leave it empty."
        )
    return degrees


def _humidity(post: QueryDict) -> int | None:
    text = _text(post, "room_humidity")
    if not text:
        return None
    if not (text.isascii() and text.isdecimal() and int(text[:4]) <= 100):
        raise BadMessage(f"The room humidity is {text[:20]!r}. Type per cent, such as 55, or leave it empty.")
    return int(text)
