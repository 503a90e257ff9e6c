"""Settings, all from the environment.

`WORKSHEET_MODE=demo` (the default) runs with nothing set. `WORKSHEET_MODE=production`
refuses to start until every secret and address is given; the message names the variable.
"""

from pathlib import Path

import environ
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from config.environment import (
    SHORTEST_PASSPHRASE,
    SHORTEST_SECRET,
    demo_secret,
    mode,
    production_secret,
    readable_file,
    web_address,
    whole_number,
)
from incidents.sqlite import sqlite_options

env = environ.Env()

BASE_DIR = Path(__file__).resolve().parent.parent
WORKSHEET_MODE = mode(env.str("WORKSHEET_MODE", default="demo"))
PRODUCTION = WORKSHEET_MODE == "production"
# Where SQLite and the demo's own secrets live.
WORKSHEET_DATA = Path(env.str("WORKSHEET_DATA", default=str(BASE_DIR / "var")))

if PRODUCTION:
    SECRET_KEY = production_secret(
        "SECRET_KEY", env.str("SECRET_KEY", default=None), shortest=SHORTEST_SECRET
    )
    # Encrypts the agencies' signing keys in the database.
    SIGNING_PASSPHRASE = production_secret(
        "SIGNING_PASSPHRASE",
        env.str("SIGNING_PASSPHRASE", default=None),
        shortest=SHORTEST_PASSPHRASE,
    )
    ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=[])
    if not ALLOWED_HOSTS or "*" in ALLOWED_HOSTS:
        raise ImproperlyConfigured(
            "ALLOWED_HOSTS must name each host that serves the worksheet, without '*'."
        )
else:
    SECRET_KEY = env.str("SECRET_KEY", default="") or demo_secret(
        WORKSHEET_DATA, "secret-key"
    )
    SIGNING_PASSPHRASE = env.str("SIGNING_PASSPHRASE", default="") or demo_secret(
        WORKSHEET_DATA, "signing-passphrase"
    )
    ALLOWED_HOSTS = env.list("ALLOWED_HOSTS", default=["127.0.0.1", "localhost"])

# An RFC 3161 server, and the certificates (PEM) whose word on a time is taken. Without
# an address reports carry the signer's own time.
TIMESTAMP_URL = web_address("TIMESTAMP_URL", env.str("TIMESTAMP_URL", default=""))
TIMESTAMP_ROOTS = readable_file(
    "TIMESTAMP_ROOTS", env.str("TIMESTAMP_ROOTS", default="")
)

CSRF_TRUSTED_ORIGINS = env.list("CSRF_TRUSTED_ORIGINS", default=[])
DEBUG = env.bool("DEBUG", default=False)
if PRODUCTION and DEBUG:
    raise ImproperlyConfigured("DEBUG must not be on in production.")

INSTALLED_APPS = [
    "django.contrib.admin.apps.SimpleAdminConfig",  # incidents.admin has its own site
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "csp",
    "django_htmx",
    "django_otp",
    "django_otp.plugins.otp_totp",
    "django_otp.plugins.otp_static",
    "incidents",  # before the tasks: its `db_worker` takes up what was left
    "django_tasks",
    "django_tasks_db",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    # Pads its answers at random; Django masks the token in each form anew.
    "django.middleware.gzip.GZipMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "config.middleware.no_store_when_signed_in",
    "config.middleware.renew_session_in_use",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "config.middleware.OwnPasswordFirst",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "incidents.views.light.light",
            ],
        },
    },
]

# --- The database -------------------------------------------------------------------

DATABASES = {
    "default": env.db_url(
        "DATABASE_URL", default=f"sqlite:///{WORKSHEET_DATA / 'worksheet.sqlite3'}"
    )
}
_database = DATABASES["default"]
_database["CONN_MAX_AGE"] = 0  # PostgreSQL: the pool keeps them; SQLite: cheap to open
if _database["ENGINE"] == "django.db.backends.sqlite3":
    Path(_database["NAME"]).parent.mkdir(parents=True, exist_ok=True)
    _database["OPTIONS"] = {**sqlite_options(), **_database.get("OPTIONS", {})}
else:
    _database["CONN_HEALTH_CHECKS"] = True
    _database["OPTIONS"] = {
        # A writer that hangs must not hold an incident's row against all others.
        "options": "-c lock_timeout=20s -c idle_in_transaction_session_timeout=60s",
        "pool": {
            "min_size": 1,
            "max_size": env.int("DATABASE_POOL_SIZE", default=10),
            "timeout": 20,
        },
        **_database.get("OPTIONS", {}),
    }

# --- Work in the background ---------------------------------------------------------

# Tasks lie in the database beside everything else: no broker to run or to back up.
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
# Processes that judge the archive for one what-if run; 0 for as many as there are cores.
WHAT_IF_PROCESSES = whole_number(
    "WHAT_IF_PROCESSES", env.str("WHAT_IF_PROCESSES", default="0"), low=0, high=1024
)

# --- People -------------------------------------------------------------------------

AUTH_USER_MODEL = "incidents.Person"
LOGIN_URL = "incidents:sign-in"
LOGIN_REDIRECT_URL = "incidents:incident-list"
LOGOUT_REDIRECT_URL = "incidents:sign-in"
PASSWORD_HASHERS = [
    "config.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 12},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {
        "NAME": "django.contrib.auth.password_validation"
        ".UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("username", "display_name")},
    },
    {"NAME": "incidents.passwords.NotOfHereValidator"},
]
OTP_TOTP_ISSUER = "Hazmat incident worksheet"

# --- What the browser may do --------------------------------------------------------

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "connect-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "object-src": [NONE],
        "frame-ancestors": [NONE],
        "worker-src": [SELF],
        "manifest-src": [SELF],
    }
}
X_FRAME_OPTIONS = "DENY"
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"

# A shift of twelve hours with both hand-overs; counted from the last use, see
# `config.middleware.renew_session_in_use`. A new password ends it everywhere else.
SESSION_COOKIE_AGE = 3600 * whole_number(
    "SESSION_HOURS", env.str("SESSION_HOURS", default="14"), low=1, high=72
)
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_HTTPONLY = True  # forms carry the token in the page
CSRF_COOKIE_SAMESITE = "Lax"

# `manage.py serve --https` says so to the process that it starts.
SERVED_OVER_HTTPS = PRODUCTION or env.bool("SERVED_OVER_HTTPS", default=False)
if PRODUCTION:
    # A browser takes these over https only, and for this very host.
    SESSION_COOKIE_NAME = "__Host-session"
    CSRF_COOKIE_NAME = "__Host-csrf"
SESSION_COOKIE_SECURE = SERVED_OVER_HTTPS
CSRF_COOKIE_SECURE = SERVED_OVER_HTTPS
SECURE_SSL_REDIRECT = PRODUCTION
# The proxy in front ends TLS and asks /health/ in plain HTTP.
SECURE_REDIRECT_EXEMPT = [r"^health/$"]
SECURE_HSTS_SECONDS = env.int("HSTS_SECONDS", default=31_536_000) if PRODUCTION else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = PRODUCTION
SECURE_HSTS_PRELOAD = PRODUCTION
# Then its X-Forwarded-For says where someone signs in from, too.
BEHIND_TLS_PROXY = env.bool("BEHIND_TLS_PROXY", default=False)
if BEHIND_TLS_PROXY:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")

DATA_UPLOAD_MAX_MEMORY_SIZE = 1_000_000
DATA_UPLOAD_MAX_NUMBER_FIELDS = 500

# --- Time, words, files -------------------------------------------------------------

USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = False
LANGUAGE_CODE = "en-us"

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "config.static_files.HashedFiles"
            if PRODUCTION
            else "django.contrib.staticfiles.storage.StaticFilesStorage"
        )
    },
}
# The demo serves the files where they lie; production collects, hashes and compresses.
STATIC_ROOT = (
    env.str("STATIC_ROOT", default=str(BASE_DIR / "staticfiles"))
    if PRODUCTION
    else None
)
WHITENOISE_USE_FINDERS = not PRODUCTION

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {"format": "{asctime} {levelname} {name} {message}", "style": "{"}
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    # They tell every glyph and every certificate that they touch.
    "loggers": {
        "fontTools": {"level": "WARNING"},
        "pyhanko": {"level": "WARNING"},
        "pyhanko_certvalidator": {"level": "WARNING"},
    },
    "root": {"handlers": ["console"], "level": env.str("LOG_LEVEL", default="INFO")},
}
