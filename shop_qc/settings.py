"""All settings, read from the environment through `shop_qc.env`; `deploy/env.example` explains each variable.

The defaults are those of one small shop on one machine: SQLite, no broker, one web server and one job runner.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from inventory.api import introduction
from shop_qc import __version__, env
from shop_qc.log_lines import refusals_in_one_line

ROOT = Path(__file__).resolve().parent.parent
DATA_DIR = env.folder("DATA_DIR", ROOT / "data")
DEBUG = env.flag("DEBUG")
DEMO = env.flag("DEMO", default=True)  # what a first start puts into an empty installation
SECRET_KEY = env.secret_key("SECRET_KEY", DATA_DIR / "secret_key")

# --- who may reach us, and how ---------------------------------------------------------------------------
ALLOWED_HOSTS = env.listed("ALLOWED_HOSTS", ("localhost", "127.0.0.1", "[::1]"))
CSRF_TRUSTED_ORIGINS = env.web_origins("CSRF_TRUSTED_ORIGINS")
BEHIND_TLS = env.flag("BEHIND_TLS")  # a proxy in front of us speaks https to the browsers
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = BEHIND_TLS
SECURE_HSTS_SECONDS = env.whole_number("HSTS_SECONDS", 0)
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_TLS else None
SECURE_REDIRECT_EXEMPT = [r"^health/$"]  # asked by the machine itself, over plain http
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
X_FRAME_OPTIONS = "DENY"

# --- parts -----------------------------------------------------------------------------------------------
INSTALLED_APPS = [
    "inventory.apps.InventoryConfig",
    "reports.apps.ReportsConfig",
    "rest_framework",
    "rest_framework.authtoken",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
]
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    # Everything needs a sign-in unless a view says otherwise: a forgotten decorator must not publish a page.
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]
ROOT_URLCONF = "shop_qc.urls"
WSGI_APPLICATION = "shop_qc.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "inventory.web.context.shop",
            ],
        },
    }
]
FORM_RENDERER = "inventory.web.form_renderer.WorkroomRenderer"

# --- what is kept ----------------------------------------------------------------------------------------
_postgres = env.postgres("DATABASE_URL")
_sqlite: dict[str, Any] = {
    "ENGINE": "django.db.backends.sqlite3",
    "NAME": DATA_DIR / "shop.sqlite3",
    "OPTIONS": {
        # WAL: readers never wait for a writer. FULL: what was confirmed survives a power cut.
        "init_command": "PRAGMA journal_mode=WAL;PRAGMA synchronous=FULL;",
        # Every transaction asks for the write lock at its start and queues for it; the default would fail at
        # once with "database is locked" when two of them read first and write later.
        # So never ATOMIC_REQUESTS, and no rendering or uploading inside a transaction.
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
    },
    "CONN_MAX_AGE": None,  # opening costs more than a query
    # A file, as in the shop: in memory a test's reader and the live server's writer lock each other out at
    # once ("table is locked"), which neither the write-ahead log nor the timeout can help.
    "TEST": {"NAME": DATA_DIR / "test.sqlite3"},
}
DATABASES: dict[str, dict[str, Any]] = {
    "default": _sqlite
    if _postgres is None
    else {
        "ENGINE": "django.db.backends.postgresql",
        **_postgres,
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
    }
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
MEDIA_ROOT = (
    DATA_DIR / "media"
)  # photos and documents: handed out by views that check the right, never by path
MEDIA_URL = ""
FILE_UPLOAD_PERMISSIONS = 0o640
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000  # a paper worksheet typed in: a batch of pieces times their points
DATA_UPLOAD_MAX_NUMBER_FILES = 50
STATIC_URL = "static/"
STATIC_ROOT = env.folder("STATIC_DIR", ROOT / "staticfiles")
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        # Names with a hash, so browsers keep files for good. Not compressed: that took a minute at a start
        # and saves nothing worth having inside one house; a proxy in front can compress.
        else "django.contrib.staticfiles.storage.ManifestStaticFilesStorage"
    },
}

# --- background work -------------------------------------------------------------------------------------
REDIS_URL = env.text("REDIS_URL")  # unset: the job runner polls the table; set: Celery carries the work
HEARTBEAT_FILE = DATA_DIR / "runner-heartbeat"

# --- sign-in ---------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "inventory.User"
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "sign-in"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in ("UserAttributeSimilarityValidator", "MinimumLengthValidator", "CommonPasswordValidator")
]
# The session is in the database, with a copy in a cache all workers share: a signed-in request costs no query
# for it, and signing out ends it everywhere. A cache inside each process would keep it alive in the others.
SESSION_ENGINE = "django.contrib.sessions.backends.cached_db"
SESSION_COOKIE_AGE = env.whole_number("SESSION_DAYS", 14, least=1, most=365) * 86_400
CACHES: dict[str, dict[str, Any]] = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": REDIS_URL}
    if REDIS_URL
    else {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": DATA_DIR / "cache",
        "OPTIONS": {"MAX_ENTRIES": 5000},
    }
}

# --- words and hours -------------------------------------------------------------------------------------
LANGUAGE_CODE = env.text("LANGUAGE_CODE", "en")
USE_I18N = True
USE_TZ = True
TIME_ZONE = env.time_zone("TIME_ZONE", "UTC")

# --- other programs --------------------------------------------------------------------------------------
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        # The token first: its answer to a missing sign-in is 401 with a challenge, not 403.
        "rest_framework.authentication.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["inventory.api.frame.parsing.ShallowJSONParser"],
    "DEFAULT_SCHEMA_CLASS": "inventory.api.frame.schema.ApiSchema",
    "DEFAULT_THROTTLE_RATES": {"token": "10/min"},  # tries to sign in, from one address
    # Whose address counts: only what our own proxy says of it, not what a caller writes into the header.
    "NUM_PROXIES": 1 if BEHIND_TLS else 0,
    "EXCEPTION_HANDLER": "inventory.api.problems.handle",
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Measuring room",
    "DESCRIPTION": introduction.WORDS,
    "VERSION": __version__,
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": ["rest_framework.permissions.IsAuthenticated"],
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "ENUM_NAME_OVERRIDES": {
        "Verdict": "inventory.models.verdicts.VerdictCode",
        "Standing": "inventory.models.pieces.Standing",
        "LengthUnit": "inventory.models.shop.LengthUnit",
        "SpecState": "inventory.models.specs.Spec.State",
        "PointKind": "inventory.models.points.Kind",
        "ImportKind": "inventory.models.imports.ImportRun.Kind",
        "ImportState": "inventory.models.imports.ImportRun.State",
        "JobState": "inventory.models.jobs.JobState",
        "DocumentKind": "reports.models.documents.Document.Kind",
        "Cause": "inventory.api.causes.CAUSES",
        "DefectClass": "inventory.api.sampling.CLASSES",
        "SamplingState": "inventory.api.sampling.STATES",
        "SamplingKind": "inventory.models.sampling.SamplingScheme.Kind",
        "StudyState": "inventory.models.studies.Study.State",
    },
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
}

# --- what is told ----------------------------------------------------------------------------------------
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {"format": "{asctime} {levelname} {name} pid={process} {message}", "style": "{"},
    },
    "filters": {
        "refusals": {"()": "django.utils.log.CallbackFilter", "callback": refusals_in_one_line},
    },
    "handlers": {
        "stdout": {
            "class": "logging.StreamHandler",
            "stream": "ext://sys.stdout",
            "formatter": "line",
            "filters": ["refusals"],
        },
    },
    "root": {
        "handlers": ["stdout"],
        "level": env.one_of("LOG_LEVEL", "INFO", ("DEBUG", "INFO", "WARNING", "ERROR")),
    },
    "loggers": {
        "weasyprint": {"level": "WARNING"},  # it tells ten lines of each sheet it lays out
        "fontTools": {"level": "WARNING"},
        "django": {"handlers": [], "propagate": True},
        "django.server": {"handlers": [], "propagate": True},
    },
}
