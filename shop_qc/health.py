"""Whether this installation can work right now; asked by start scripts, proxies and watchdogs."""

from __future__ import annotations

import time

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from shop_qc import __version__


@login_not_required
@never_cache
@require_safe
def health(_request: HttpRequest) -> JsonResponse:
    """Answer 200 when the database answers, 503 when it does not.

    `background_work` is the age in seconds of the job runner's last sign of life, null if there was none yet.
    An old one does not make the answer 503: measuring goes on without documents.
    """
    database = _database_answers()
    return JsonResponse(
        {
            "ready": database,
            "database": "ok" if database else "no answer",
            "background_work": _heartbeat_age_s(),
            "version": __version__,
        },
        status=200 if database else 503,
    )


def _database_answers() -> bool:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            return bool(cursor.fetchone())
    except DatabaseError:
        return False


def _heartbeat_age_s() -> float | None:
    try:
        beat = settings.HEARTBEAT_FILE.stat().st_mtime
    except FileNotFoundError:
        return None
    return round(max(0.0, time.time() - beat), 1)
