"""The addresses of the API that inventory answers, below /api/v1/."""

from django.urls import URLPattern, URLResolver, path

import inventory.converters  # noqa: F401  # registers <piece:…>, <batch:…>, <delivery:…>
from inventory.api import (
    audit,
    batches,
    deliveries,
    dispositions,
    imports,
    inspections,
    makers,
    pieces,
    readings,
    styles,
    token,
    verdicts,
)

urlpatterns: list[URLPattern | URLResolver] = [
    path("token/", token.TokenResource.as_view()),
    path("makers/", makers.Makers.as_view()),
    path("makers/<slug:code>/", makers.OneMaker.as_view()),
    path("styles/", styles.Styles.as_view()),
    path("styles/<slug:code>/", styles.OneStyle.as_view()),
    path("specs/<int:pk>/", styles.OneSpec.as_view()),
    path("deliveries/", deliveries.Deliveries.as_view()),
    path("deliveries/<delivery:delivery>/", deliveries.OneDelivery.as_view()),
    path("deliveries/<delivery:delivery>/batches/", batches.BatchesOfDelivery.as_view()),
    path("batches/", batches.Batches.as_view()),
    path("batches/<batch:batch>/", batches.OneBatch.as_view()),
    path("batches/<batch:batch>/pieces/", pieces.PiecesOfBatch.as_view()),
    path("pieces/", pieces.Pieces.as_view()),
    path("pieces/<piece:piece>/", pieces.OnePiece.as_view()),
    path("pieces/<piece:piece>/inspections/", inspections.InspectionsOfPiece.as_view()),
    path("pieces/<piece:piece>/unread-sides/", inspections.UnreadSides.as_view()),
    path("pieces/<piece:piece>/verdict/", verdicts.CurrentVerdict.as_view()),
    path("pieces/<piece:piece>/dispositions/", dispositions.DispositionsOfPiece.as_view()),
    path("inspections/<int:pk>/", inspections.OneInspection.as_view()),
    path("inspections/<int:pk>/readings/", readings.ReadingsOfInspection.as_view()),
    path("inspections/<int:pk>/finish/", inspections.FinishInspection.as_view()),
    path("slip-questions/<int:pk>/answer/", readings.AnswerToSlipQuestion.as_view()),
    path("imports/", imports.Imports.as_view()),
    path("imports/<int:pk>/", imports.OneImport.as_view()),
    path("imports/<int:pk>/header/", imports.ImportHeader.as_view()),
    path("imports/<int:pk>/mapping/", imports.ImportMapping.as_view()),
    path("imports/<int:pk>/check/", imports.ImportCheck.as_view()),
    path("imports/<int:pk>/store/", imports.ImportStore.as_view()),
    path("audit/", audit.Audit.as_view()),
    path("verdicts/", verdicts.Verdicts.as_view()),
    path("verdicts/<int:pk>/", verdicts.OneVerdict.as_view()),
]
