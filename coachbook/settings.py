"""Settings. Every one comes from the environment or the file that `start` writes, and the demo needs none of them.

Naming the hosts makes it production: only then is anything but loopback served, and only over TLS.
"""

import secrets
from datetime import timedelta
from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured
from environ import Env

BASE_DIR = Path(__file__).resolve().parent.parent
env = Env()

DATA_DIR = Path(env.str("DATA_DIR", default=str(BASE_DIR / ".data")))
DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
# What `start` asked for, so that every command and every unit means the same site; the environment comes first.
SETTINGS_FILE = DATA_DIR / "settings"
if SETTINGS_FILE.exists():
    with SETTINGS_FILE.open(encoding="utf-8") as file:
        env.read_env(file)

ALLOWED_HOSTS: list[str] = env.list("ALLOWED_HOSTS", default=[])
PRODUCTION = bool(ALLOWED_HOSTS)
DEBUG: bool = env.bool("DEBUG", default=False)


def local_secret(path: Path) -> str:
    """The key of a machine that serves nobody but itself: made once, readable by its owner only."""
    if not path.exists() or not path.stat().st_size:  # a full disk left an empty one
        path.touch(mode=0o600)
        path.write_text(secrets.token_urlsafe(50))
    return path.read_text()


if PRODUCTION:
    SECRET_KEY = env.str("SECRET_KEY", default="")
    if DEBUG:
        raise ImproperlyConfigured("DEBUG shows private data to strangers: unset it where ALLOWED_HOSTS is set.")
    if len(SECRET_KEY) < 50 or len(set(SECRET_KEY)) < 5:
        raise ImproperlyConfigured("SECRET_KEY must be at least 50 random characters where ALLOWED_HOSTS is set.")
else:
    ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
    SECRET_KEY = env.str("SECRET_KEY", default="") or local_secret(DATA_DIR / "secret_key")
SECRET_KEY_FALLBACKS: list[str] = env.list("SECRET_KEY_FALLBACKS", default=[])

# Links in mails begin with this, never with what a request says of its host; unset, the first of the hosts.
SITE_ADDRESS: str = env.str("SITE_ADDRESS", default=f"https://{ALLOWED_HOSTS[0]}" if PRODUCTION else "")

INSTALLED_APPS = [
    "coachbook",
    "coachbook.accounts",
    "coachbook.outbox",
    "lessons",
    "drills",
    "coachbook.diary",
    "coachbook.family",
    "coachbook.loop",
    "coachbook.groups",
    "coachbook.digests",
    "coachbook.corrections",
    "coachbook.caseload",
    "coachbook.rights",
    "coachbook.demo",
    "django.forms",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "django_htmx",
    "simple_history",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "coachbook.middleware.security_headers",  # before the files of whitenoise, so that they carry them, too
    "django.middleware.gzip.GZipMiddleware",  # it adds random bytes, so that lengths tell nothing
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "coachbook.accounts.sessions.session_limits",
    "django_htmx.middleware.HtmxMiddleware",
    "coachbook.middleware.SignInRequired",
    "coachbook.accounts.second_factor.SecondFactorRequired",
    "coachbook.throttle.Throttle",
    "coachbook.middleware.academy_time_zone",
    "coachbook.middleware.record_views",
    "coachbook.corrections.approvals.middleware.SettleDue",  # before the history takes the passer-by for the author
    "simple_history.middleware.HistoryRequestMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "coachbook.middleware.InvalidFormStatus",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "coachbook.urls"
WSGI_APPLICATION = "coachbook.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

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
            ],
            "builtins": ["coachbook.templatetags.page", "coachbook.templatetags.navigation"],
        },
    }
]
FORM_RENDERER = "coachbook.forms.FormRenderer"

# --- Database -----------------------------------------------------------------------------------

SQLITE_OPTIONS = {
    "timeout": 20,
    # A transaction that reads first and writes later dies at once under DEFERRED when another writes meanwhile.
    "transaction_mode": "IMMEDIATE",
    # FULL, not NORMAL: a phone forgets its own copy once we said "saved". What is deleted is overwritten.
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA secure_delete=ON;",
}
DATABASES = {"default": env.db("DATABASE_URL", default=f"sqlite:///{DATA_DIR / 'coachbook.sqlite3'}")}
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file for tests, too: in memory there is no WAL and threads share one connection.
    DATABASES["default"] |= {
        "ENGINE": "coachbook.backends.sqlite3",
        "OPTIONS": SQLITE_OPTIONS,
        "TEST": {"NAME": str(DATA_DIR / "test.sqlite3")},
    }

# The sign-in limits are counted in the cache: all processes must share it, and it must not forget before its time.
CACHES = {
    "default": {"BACKEND": "coachbook.cache.LastingCache", "LOCATION": "accounts_cacheentry"},
    # Forms sent in a minute are counted in the memory of each process, so that none waits for it.
    "posts": {
        "BACKEND": "django.core.cache.backends.locmem.LocMemCache",
        "LOCATION": "posts",
        "OPTIONS": {"MAX_ENTRIES": 100_000},
    },
}
# Where a Redis-compatible server is set, it holds both counts for all processes and machines.
CACHE_URL: str = env.str("CACHE_URL", default="")
if CACHE_URL:
    redis = {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": CACHE_URL, "KEY_PREFIX": "coachbook"}
    CACHES = {"default": redis, "posts": redis}

# --- People -------------------------------------------------------------------------------------

AUTH_USER_MODEL = "accounts.User"
AUTHENTICATION_BACKENDS = ["coachbook.accounts.backend.Backend"]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 12}},
    {"NAME": "coachbook.accounts.passwords.CommonPasswordValidator"},
    {"NAME": "coachbook.accounts.passwords.ExpectedWordsValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "account_login"

ACCOUNT_ADAPTER = "coachbook.accounts.adapter.InvitationOnly"
ACCOUNT_FORMS = {
    "login": "coachbook.accounts.sign_in.SignInForm",
    "reauthenticate": "coachbook.accounts.sign_in.PasswordAgainForm",
    "reset_password_from_key": "coachbook.accounts.sign_in.NewPasswordForm",  # nosec B105 # a class
}
ACCOUNT_LOGIN_METHODS = {"email", "username"}
ACCOUNT_SIGNUP_FIELDS = ["username*", "email", "password1*", "password2*"]
ACCOUNT_EMAIL_VERIFICATION = "none"  # an account begins with an invitation, which a person handed over or mailed
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False  # a request for a new password mails nobody who has no account
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""  # else the host as the request names it
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_LOGOUT_ON_PASSWORD_CHANGE = False
# accounts/limits.py counts wrong passwords and codes on paper; `login_failed` is left for codes of a second factor.
ACCOUNT_RATE_LIMITS = {"login": "60/m/ip", "login_failed": "5/5m/key"}
ALLAUTH_TRUSTED_PROXY_COUNT: int = env.int("PROXY_COUNT", default=0)
INVITATION_DAYS = 7

MFA_ADAPTER = "coachbook.accounts.second_factor.SecondFactor"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_FORMS = {
    "authenticate": "coachbook.accounts.sign_in.FactorForm",
    "activate_totp": "coachbook.accounts.sign_in.AddAppForm",
    "add_webauthn": "coachbook.accounts.sign_in.AddPasskeyForm",
}
MFA_ALLOW_UNVERIFIED_EMAIL = True  # nobody verifies addresses here: an invitation reaches its person
MFA_TOTP_TOLERANCE = 1  # the code before and the one after count, too, as RFC 6238 recommends (5.2)

# Forms that a signed-in person may send in a minute, all together and to one page; a log saves itself once a second.
POSTS_A_MINUTE = {"all": 300, "message_write": 30}
DATA_UPLOAD_MAX_NUMBER_FIELDS = 3000  # a log has a field for each fault and look

# How long a session lasts without use, and how long at most; accounts/sessions.py ends it.
SESSION_LIMITS = {
    "manager": (timedelta(hours=12), timedelta(hours=12)),
    "coach": (timedelta(days=14), timedelta(days=90)),
    "others": (timedelta(days=30), timedelta(days=180)),
}
SESSION_COOKIE_AGE = 180 * 24 * 3600
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
KNOWN_DEVICE_COOKIE_NAME = "device"
CSRF_FAILURE_VIEW = "coachbook.views.csrf_failure"
MESSAGE_STORAGE = "coachbook.message_storage.MessageStorage"

# --- Transport ----------------------------------------------------------------------------------

SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
SECURE_CONTENT_TYPE_NOSNIFF = True
X_FRAME_OPTIONS = "DENY"
if PRODUCTION:
    SECURE_SSL_REDIRECT = True
    SECURE_REDIRECT_EXEMPT = [
        r"^calendar/",  # a program that asks without TLS is refused: see calendar_feed
        r"^(healthz|readyz)$",  # asked on the machine itself; they say nothing of anybody
    ]
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if ALLAUTH_TRUSTED_PROXY_COUNT else None
    SECURE_HSTS_SECONDS = 365 * 24 * 3600
    SECURE_HSTS_INCLUDE_SUBDOMAINS = True
    SECURE_HSTS_PRELOAD = True
    SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = True
    SESSION_COOKIE_NAME, CSRF_COOKIE_NAME = "__Host-session", "__Host-csrf"
    KNOWN_DEVICE_COOKIE_NAME = "__Host-device"

# plotly fills one empty style sheet by script and adds its map rules: their two hashes belong to plotly.js 4.1.1.
PLOTLY_STYLE_HASHES = (
    "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='",
    "'sha256-ji27qzEtxXZW+7dun6UwjHXJ18e6WAin1VvNtkzIE/o='",
)
# Permissions Policy, W3C working draft: what neither our pages nor anything in them may ask the browser for.
FEATURES_NOT_USED = (
    *("accelerometer", "autoplay", "browsing-topics", "camera", "display-capture", "geolocation", "gyroscope", "hid"),
    *("magnetometer", "microphone", "midi", "payment", "serial", "usb", "xr-spatial-tracking"),
)
# The name that Django 6.0 gives to the same setting.
SECURE_CSP: dict[str, list[str]] = {
    "default-src": ["'none'"],
    "script-src": ["'self'"],
    "style-src": ["'self'", *PLOTLY_STYLE_HASHES],
    "img-src": ["'self'", "blob:", "data:"],
    "media-src": ["'self'", "blob:"],
    "connect-src": ["'self'"],
    "font-src": ["'self'"],
    "manifest-src": ["'self'"],
    "worker-src": ["'self'"],
    "form-action": ["'self'"],
    "base-uri": ["'none'"],
    "object-src": ["'none'"],
    "frame-ancestors": ["'none'"],
}

# --- Files, mail, words, logs -------------------------------------------------------------------

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STATICFILES_FINDERS = [
    "django.contrib.staticfiles.finders.FileSystemFinder",
    "django.contrib.staticfiles.finders.AppDirectoriesFinder",
    "coachbook.finders.PlotlyFinder",
]
MEDIA_ROOT = DATA_DIR / "media"
BACKUP_DIR = Path(env.str("BACKUP_DIR", default=str(DATA_DIR / "backups")))
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = not PRODUCTION
WHITENOISE_ALLOW_ALL_ORIGINS = False
WHITENOISE_MIMETYPES = {".webmanifest": "application/manifest+json"}  # W3C Web Application Manifest, its media type
STORAGES: dict[str, dict[str, Any]] = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "coachbook.static_storage.StaticStorage"
        if PRODUCTION
        else "django.contrib.staticfiles.storage.StaticFilesStorage"
    },
}
# Where an S3-compatible store is set, it holds the media for all machines; its package is imported only then.
MEDIA_STORE: str = env.str("MEDIA_STORE", default="")
if MEDIA_STORE:
    from coachbook.operations.growth.object_store import read_address

    store = "coachbook.operations.growth.object_store.ObjectStore"
    STORAGES["default"] = {"BACKEND": store, "OPTIONS": read_address(MEDIA_STORE)}

# Bytes that the pictures of one student, and of all, may take.
MOST_PICTURES = {"student": 300 * 10**6, "academy": env.int("PICTURES_GB", default=20) * 10**9}

EMAIL_HOST: str = env.str("EMAIL_HOST", default="")
EMAIL_PORT: int = env.int("EMAIL_PORT", default=25)
EMAIL_HOST_USER: str = env.str("EMAIL_USER", default="")
EMAIL_HOST_PASSWORD: str = env.str("EMAIL_PASSWORD", default="")
EMAIL_USE_TLS: bool = env.bool("EMAIL_TLS", default=False)
EMAIL_TIMEOUT = 10
EMAIL_FILE_PATH = DATA_DIR / "mail"
EMAIL_BACKEND = f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'filebased'}.EmailBackend"
DEFAULT_FROM_EMAIL: str = env.str("EMAIL_FROM", default="coachbook@localhost")

LANGUAGE_CODE = "en-gb"
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"  # stored; pages show the academy's own zone


LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "plain": {
            "class": "coachbook.logs.LineFormatter",
            "format": "%(asctime)s %(levelname)s %(name)s user=%(user)s %(message)s",
            "datefmt": "%Y-%m-%dT%H:%M:%S%z",
        }
    },
    "filters": {"secrets": {"()": "coachbook.logs.WithoutSecrets"}, "user": {"()": "coachbook.logs.WithUser"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "plain", "filters": ["secrets", "user"]}},
    "loggers": {
        **{name: {"filters": ["secrets"]} for name in ("django.request", "django.server", "django.security.csrf")},
        "coachbook.security": {"level": "INFO", "filters": ["secrets"]},
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
}
