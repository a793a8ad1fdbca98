"""Addresses of the check garments and of sittings with them."""

from django.urls import path

from inventory.web.own import garments

urlpatterns = [
    path("check-garments/", garments.garment_list, name="check-garments"),
    path("check-garments/new/", garments.garment_new, name="check-garment-new"),
    path("check-garments/<slug:code>/", garments.garment_page, name="check-garment"),
    path("check-garments/<slug:code>/begin-anew/", garments.garment_anew, name="check-garment-anew"),
    path("check-garments/<slug:code>/retire/", garments.garment_retire, name="check-garment-retire"),
    path("check-garments/<slug:code>/sittings/new/", garments.sitting_new, name="check-sitting-new"),
    path("check-garments/<slug:code>/sittings/<int:pk>/", garments.sitting, name="check-sitting"),
    path(
        "check-garments/<slug:code>/sittings/<int:pk>/readings/",
        garments.sitting_readings,
        name="check-sitting-readings",
    ),
    path(
        "check-garments/<slug:code>/sittings/<int:pk>/finish/",
        garments.sitting_finish,
        name="check-sitting-finish",
    ),
]
