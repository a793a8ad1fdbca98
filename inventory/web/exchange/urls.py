"""Addresses of import and export."""

from django.urls import path

from inventory.web.exchange import exports, imports, overview

urlpatterns = [
    path("exchange/", overview.exchange, name="exchange"),
    path("exchange/bring-in/<slug:kind>/", imports.import_new, name="import-new"),
    path("exchange/imports/<int:pk>/", imports.import_page, name="import"),
    path("exchange/imports/<int:pk>/columns/", imports.import_columns, name="import-columns"),
    path("exchange/imports/<int:pk>/check/", imports.import_check, name="import-check"),
    path("exchange/imports/<int:pk>/store/", imports.import_store, name="import-store"),
    path("exchange/imports/<int:pk>/progress/", imports.import_progress, name="import-progress"),
    path("exchange/exports/new/", exports.export_new, name="export-new"),
    path("exchange/measurements/new/", exports.measurements_new, name="measurements-new"),
    path("exchange/exports/<int:pk>/", exports.export_page, name="export"),
    path("exchange/exports/<int:pk>/progress/", exports.export_progress, name="export-progress"),
    path("exchange/exports/<int:pk>/file/", exports.export_file, name="export-file"),
    path(
        "exchange/templates/<slug:code>/<slug:kind>.<slug:form>",
        imports.import_template,
        name="import-template",
    ),
]
