"""The addresses of the floor: receiving, batches, pieces, decisions, defects, home."""

from django.urls import path

import inventory.converters  # noqa: F401  # registers <piece:…>, <batch:…>, <delivery:…>
from inventory.web.floor import (
    batches,
    causes,
    corrections,
    defects,
    deliveries,
    dispositions,
    home,
    how_to,
    pieces,
)
from inventory.web.floor.risks import batch_risks

urlpatterns = [
    path("", home.home, name="home"),
    path("find/", home.find, name="find"),
    path("deliveries/", deliveries.delivery_list, name="deliveries"),
    path("deliveries/new/", deliveries.delivery_new, name="delivery-new"),
    path("deliveries/<delivery:number>/", deliveries.delivery_page, name="delivery"),
    path("deliveries/<delivery:number>/history/", deliveries.delivery_history, name="delivery-history"),
    path("deliveries/<delivery:number>/batches/new/", deliveries.batch_new, name="batch-new"),
    path("batches/", batches.batch_list, name="batches"),
    path("batches/<batch:number>/", batches.batch_page, name="batch"),
    path("batches/<batch:number>/history/", batches.batch_history, name="batch-history"),
    path("batches/<batch:number>/causes/", causes.batch_causes, name="batch-causes"),
    path("batches/<batch:number>/risks/", batch_risks, name="batch-risks"),
    path("batches/<batch:number>/pieces/new/", batches.pieces_new, name="pieces-new"),
    path("batches/<batch:number>/dispositions/", dispositions.batch_dispositions, name="batch-dispositions"),
    path("batches/<batch:number>/defects/", defects.batch_defects, name="batch-defects"),
    path("batches/<batch:number>/defects/new/", defects.defect_new, name="defect-new"),
    path("pieces/", pieces.piece_list, name="pieces"),
    path("pieces/<piece:number>/", pieces.piece_page, name="piece"),
    path("pieces/<piece:number>/history/", pieces.piece_history, name="piece-history"),
    path("pieces/<piece:number>/correct/", corrections.piece_correct, name="piece-correct"),
    path("pieces/<piece:number>/disposition/", dispositions.disposition_new, name="disposition-new"),
    path("defects/<int:pk>/photos/", defects.defect_photos, name="defect-photos"),
    path("photos/<int:pk>/", defects.photo, name="photo"),
    path("photos/<int:pk>/original/", defects.photo_original, name="photo-original"),
    path("help/", how_to.help_page, name="help"),
]
