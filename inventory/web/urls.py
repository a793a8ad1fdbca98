"""The screens' addresses, one list per subject."""

from django.urls import include, path

import inventory.converters  # noqa: F401  # registers <piece:…>, <batch:…>, <delivery:…>, <study:…>

urlpatterns = [
    path("", include("inventory.web.floor.urls")),
    path("", include("inventory.web.bench.urls")),
    path("", include("inventory.web.setup.urls")),
    path("", include("inventory.web.own.urls")),
    path("", include("inventory.web.own.tape_urls")),
    path("", include("inventory.web.own.garment_urls")),
    path("", include("inventory.web.exchange.urls")),
    path("", include("inventory.web.sampling.urls")),
]
