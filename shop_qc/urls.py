"""All addresses: the project's own here, the apps' in their own modules."""

from django.contrib import admin
from django.contrib.auth.decorators import login_not_required, login_required
from django.contrib.auth.views import LogoutView
from django.urls import include, path, re_path
from django.views.generic import RedirectView
from drf_spectacular.views import SpectacularJSONAPIView, SpectacularSwaggerSplitView

from inventory.admin.entrance import entrance as admin_entrance
from inventory.api.nowhere import Nowhere
from inventory.web.sign_in import SignIn
from shop_qc.health import health

admin.site.site_header = "Measuring room: set-up"
admin.site.site_title = "Measuring room"
admin.site.index_title = "Set-up"

# A page for people: whoever is not signed in is sent to the sign-in, not told so in JSON.
api_docs = login_required(SpectacularSwaggerSplitView.as_view(url_name="api-schema"))

handler400 = "inventory.api.problems.bad_request"
handler500 = "inventory.api.problems.server_error"

urlpatterns = [
    path("health/", health, name="health"),
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-out/", login_not_required(LogoutView.as_view()), name="sign-out"),
    # The set-up site's own page would leave no audit row and keep the token got with the old password.
    path("admin/password_change/", RedirectView.as_view(pattern_name="password-change")),
    path("admin/login/", login_not_required(admin_entrance)),
    path("admin/", admin.site.urls),
    path("api/v1/schema/", SpectacularJSONAPIView.as_view(), name="api-schema"),
    path("api/v1/docs/", api_docs, name="api-docs"),
    path("api/v1/", include("inventory.api.urls")),
    path("api/v1/", include("reports.api.urls")),
    re_path(r"^api/", Nowhere.as_view()),
    path("", include("inventory.web.urls")),
    path("", include("reports.web.urls")),
]
