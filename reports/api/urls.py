"""The addresses of the API that reports answers, below /api/v1/."""

from django.urls import URLPattern, URLResolver, path

from reports.api import documents

urlpatterns: list[URLPattern | URLResolver] = [
    path("documents/", documents.Documents.as_view()),
    path("documents/<int:pk>/", documents.OneDocument.as_view()),
    path("documents/<int:pk>/file/", documents.DocumentFile.as_view()),
]
