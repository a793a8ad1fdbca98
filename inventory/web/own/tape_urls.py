"""Addresses of a tape's own page and of its checks."""

from django.urls import path

from inventory.web.own import tapes

urlpatterns = [
    path("instruments/<int:pk>/", tapes.instrument_page, name="instrument"),
    path("instruments/<int:pk>/check/", tapes.tape_check, name="tape-check"),
    path("instruments/<int:pk>/checks/<int:check>/", tapes.tape_check_result, name="tape-check-result"),
    path("instruments/<int:pk>/judge-again/", tapes.rejudge, name="tape-rejudge"),
]
