"""The project's addresses, and a view that does nothing."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import include, path


def trivial(_request: HttpRequest) -> HttpResponse:
    """Answer at once. The middleware has looked up the session and the person, and checked the token."""
    return HttpResponse("ok")


urlpatterns = [path("trivial/", trivial), path("", include("shop_qc.urls"))]
