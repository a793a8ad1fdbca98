"""The addresses of sampling."""

from django.urls import path

import inventory.converters  # noqa: F401  # registers <batch:…>
from inventory.web.sampling import agreements, batch, notes

urlpatterns = [
    path("sampling/", agreements.shop_sampling, name="shop-sampling"),
    path("sampling/set/", agreements.shop_sampling_set, name="shop-sampling-set"),
    path("makers/<slug:code>/sampling/", agreements.maker_sampling, name="maker-sampling"),
    path("makers/<slug:code>/sampling/set/", agreements.maker_sampling_set, name="maker-sampling-set"),
    path("makers/<slug:code>/sampling/<slug:style>/", notes.style_sampling, name="style-sampling"),
    path(
        "makers/<slug:code>/sampling/<slug:style>/set/",
        agreements.style_sampling_set,
        name="style-sampling-set",
    ),
    path("batches/<batch:number>/sampling/", batch.batch_sampling, name="batch-sampling"),
    path("batches/<batch:number>/sampling/draw/", batch.sampling_draw, name="sampling-draw"),
    path("batches/<batch:number>/sampling/list/", batch.sampling_list, name="sampling-list"),
    path("batches/<batch:number>/sampling/decide/", batch.sampling_decide, name="sampling-decide"),
]
