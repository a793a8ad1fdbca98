"""Addresses of the documents."""

from django.urls import path

from reports.web import documents

urlpatterns = [
    path("documents/", documents.document_list, name="documents"),
    path("documents/new/", documents.document_new, name="document-new"),
    path("documents/<int:pk>/", documents.document_page, name="document"),
    path("documents/<int:pk>/progress/", documents.document_progress, name="document-progress"),
    path("documents/<int:pk>/file/", documents.document_file, name="document-file"),
]
