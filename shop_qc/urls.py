"""All addresses: the project's own here, the apps' in their own modules."""

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.urls import include, path
from drf_spectacular.views import SpectacularAPIView, SpectacularSwaggerSplitView

from shop_qc.health import health

admin.site.site_header = "Measuring room: set-up"
admin.site.site_title = "Measuring room"
admin.site.index_title = "Set-up"

sign_in = LoginView.as_view(template_name="inventory/sign_in.html", redirect_authenticated_user=True)

urlpatterns = [
    path("health/", health, name="health"),
    path("sign-in/", sign_in, name="sign-in"),
    path("sign-out/", login_not_required(LogoutView.as_view()), name="sign-out"),
    path("admin/", admin.site.urls),
    path("api/v1/schema/", SpectacularAPIView.as_view(), name="api-schema"),
    path("api/v1/docs/", SpectacularSwaggerSplitView.as_view(url_name="api-schema"), name="api-docs"),
    path("api/v1/", include("inventory.api.urls")),
    path("api/v1/", include("reports.api.urls")),
    path("", include("inventory.web.urls")),
    path("", include("reports.web.urls")),
]
