"""Environment to settings. Read only through ``django.conf``; imported by nobody.

Without any environment everything runs on a laptop: SQLite and a generated secret in ``.data``,
loopback and private addresses only. Whoever serves anything else must bring a secret.
"""

from __future__ import annotations

import os
import secrets
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import unquote, urlsplit

from django.core.exceptions import ImproperlyConfigured

BASE_DIR = Path(__file__).resolve().parent.parent


def _flag(name: str) -> bool:
    return os.environ.get(name, "").lower() in {"1", "true", "yes", "on"}


def _list(name: str) -> list[str]:
    return [part.strip() for part in os.environ.get(name, "").split(",") if part.strip()]


def _at_home(host: str) -> bool:
    """Return True for the names and addresses of this machine and its own network."""
    if host in {"localhost", "testserver"} or host.endswith(".local"):
        return True
    try:
        return ip_address(host.strip("[]")).is_private
    except ValueError:
        return False


def _data() -> Path:
    folder = Path(os.environ.get("YARDWRIGHT_DATA") or BASE_DIR / ".data").expanduser()
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    (folder / "static").mkdir(exist_ok=True)
    return folder


def _local_secret(folder: Path) -> str:
    """Return the secret kept for this machine, made at the first start."""
    file = folder / "secret"
    if not file.exists():
        file.touch(mode=0o600)
        file.write_text(secrets.token_urlsafe(50))
    return file.read_text().strip()


DATA = _data()
BASE_URL = os.environ.get("BASE_URL", "").rstrip("/")
HOSTS = _list("HOSTS")
LOCAL = not os.environ.get("SECRET_KEY")
if LOCAL and (strangers := [host for host in HOSTS if not _at_home(host)]):
    raise ImproperlyConfigured(
        f"HOSTS names {', '.join(strangers)}, which is not this machine or its own network: "
        "set SECRET_KEY to a long random text first"
    )

SECRET_KEY = os.environ.get("SECRET_KEY") or _local_secret(DATA)
DEBUG = _flag("DEBUG")
ALLOWED_HOSTS = HOSTS or ["localhost", "127.0.0.1", "[::1]"]
CSRF_TRUSTED_ORIGINS = _list("TRUSTED_ORIGINS")
TODAY = os.environ.get("TODAY", "")
"""Pretended date (``2026-06-16``) or local date and time; empty for the real one."""
FORECAST_URL = os.environ.get("FORECAST_URL", "")
CLOCK = "jobs.clock.now"
"""Where crews learns which instant plans look from."""

INSTALLED_APPS = [
    "crews",
    "jobs",
    "django.contrib.admin",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django_htmx",
    "template_partials",
    "csp",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "jobs.views.errors.SayErrors",
]

ROOT_URLCONF = "jobs.urls"
WSGI_APPLICATION = "jobs.wsgi.application"
AUTH_USER_MODEL = "crews.Person"
LOGIN_URL = "sign-in"
CSRF_FAILURE_VIEW = "jobs.views.failures.not_from_here"
LOGIN_REDIRECT_URL = "tomorrow"
LOGOUT_REDIRECT_URL = "sign-in"

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
                "jobs.views.context.house",
            ],
        },
    }
]


def _database() -> dict[str, object]:
    """Return SQLite in the data folder, or what DATABASE_URL says."""
    if url := os.environ.get("DATABASE_URL"):
        try:
            import dj_database_url  # noqa: PLC0415 (only with the postgres extra)
        except ImportError as missing:
            raise ImproperlyConfigured(
                "DATABASE_URL needs the postgres extra: pip install -e '.[postgres]'"
            ) from missing
        return {**dj_database_url.parse(url, conn_max_age=60, conn_health_checks=True)}
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA / "yardwright.sqlite3",
        "CONN_MAX_AGE": 60,
        "OPTIONS": {
            "transaction_mode": "IMMEDIATE",
            "timeout": 20,
            "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL;",
        },
    }


DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

CACHES = {
    "default": {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"},
    "feeds": {
        "BACKEND": "django.core.cache.backends.filebased.FileBasedCache",
        "LOCATION": DATA / "cache",
        "TIMEOUT": None,
        "OPTIONS": {"MAX_ENTRIES": 5000},
    },
}

AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
    )
]

LANGUAGE_CODE = "en-us"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATIC_ROOT = DATA / "static"
MEDIA_ROOT = DATA / "media"
"""Photos of the day log; never served from here by name."""
BACKUPS = DATA / "backups"
WHITENOISE_USE_FINDERS = True
WHITENOISE_MAX_AGE = 60 if LOCAL else 3600

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "blob:"],
        "connect-src": ["'self'"],
        "form-action": ["'self'"],
        "font-src": ["'self'"],
        "worker-src": ["'self'"],
        "manifest-src": ["'self'"],
        "base-uri": ["'none'"],
        "frame-ancestors": ["'none'"],
    }
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"

if not LOCAL:
    SECURE_SSL_REDIRECT = not _flag("DEBUG")
    SECURE_HSTS_SECONDS = 31_536_000
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = True
    CSRF_COOKIE_SECURE = True
if _flag("PROXY"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    USE_X_FORWARDED_HOST = True

if mail := os.environ.get("EMAIL_URL"):
    _mail = urlsplit(mail)
    EMAIL_HOST = _mail.hostname or "localhost"
    EMAIL_PORT = _mail.port or {"smtps": 465, "smtp+tls": 587}.get(_mail.scheme, 25)
    EMAIL_HOST_USER = unquote(_mail.username or "")
    EMAIL_HOST_PASSWORD = unquote(_mail.password or "")
    EMAIL_TIMEOUT = 20
    if "@" in EMAIL_HOST_USER:
        DEFAULT_FROM_EMAIL = EMAIL_HOST_USER
    EMAIL_USE_SSL = _mail.scheme == "smtps"
    EMAIL_USE_TLS = _mail.scheme == "smtp+tls"
else:
    EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"no_secrets": {"()": "crews.services.redact.NoSecrets"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "filters": ["no_secrets"]}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {"django": {"handlers": ["console"], "level": "WARNING", "propagate": False}},
}
