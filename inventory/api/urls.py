"""The addresses of the API that inventory answers, below /api/v1/."""

from django.urls import URLPattern, URLResolver, path

import inventory.converters  # noqa: F401  # registers <piece:…>, <batch:…>, <delivery:…>
from inventory.api.token import TokenResource

urlpatterns: list[URLPattern | URLResolver] = [
    path("token/", TokenResource.as_view(), name="api-token"),
]
