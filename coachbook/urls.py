"""The table of contents of the site."""

from allauth.account import urls as account_urls
from django.conf import settings
from django.urls import URLPattern, include, path

from coachbook import views
from coachbook.accounts.sign_out import sign_out
from coachbook.loop.sheets import views as sheet_views
from coachbook.operations import health
from coachbook.operations.growth import views as growth_views

# Addresses are changed by whoever invites, who sees that no two people have the same, and accounts begin with an
# invitation: allauth's own pages for that are not served. It still asks for their addresses, so their names stay.
UNUSED_PAGES = {
    "account_signup",
    "account_confirm_email",
    "account_email_verification_sent",
    "account_confirm_login_code",
    "account_set_password",
}


def without_unused(page: URLPattern) -> URLPattern:
    """The page, or a plain 404 under its name."""
    return URLPattern(page.pattern, views.no_such_page, name=page.name) if page.name in UNUSED_PAGES else page


REPLACED_PAGES = {"account_email", "account_logout"}
account_pages = [without_unused(page) for page in account_urls.urlpatterns if page.name not in REPLACED_PAGES]
handler404 = "coachbook.views.not_found"
handler429 = "coachbook.views.too_many"  # allauth asks for it
handler403 = "coachbook.views.forbidden"
handler500 = "coachbook.views.server_error"

# For developers, so not in production.
appearance_page = [] if settings.PRODUCTION else [path("appearance/", views.appearance, name="appearance")]

urlpatterns = [
    path("", views.home, name="home"),
    *appearance_page,
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("site/size/", growth_views.site_size, name="site_size"),
    path("outbox/", include("coachbook.outbox.urls")),
    path("sources/", views.sources, name="sources"),
    path("students/", include("coachbook.loop.urls")),
    path("students/<uuid:key>/practice/", include("drills.practice.urls")),
    path("students/<uuid:key>/tests/", include("drills.scored_tests.urls")),
    path("students/<uuid:key>/care/", include("coachbook.caseload.care.urls")),
    path("diary/", include("coachbook.loop.days.urls")),
    path("", include("coachbook.diary.urls")),
    path("", include("coachbook.family.urls")),
    path("", include("coachbook.groups.urls")),
    path("", include("coachbook.corrections.urls")),
    path("", include("coachbook.rights.urls")),
    path("", include("coachbook.offline.urls")),
    path("attention/", include("coachbook.caseload.attention.urls")),
    path("caseload/", include("coachbook.caseload.urls")),
    path("sheet/<str:token>/", sheet_views.shared_sheet, name="shared_sheet"),
    path("drills/", include("drills.library.urls")),
    path("checkpoints/", include("drills.library.checkpoints.urls")),
    path("skills/", include("drills.library.skills.urls")),
    path("library/", include("drills.library.rows.urls")),
    path("references/", include("coachbook.loop.stills.beside.references.urls")),
    path("phrases/", include("coachbook.loop.phrases.urls")),
    path("tests/", include("drills.scored_tests.designs.urls")),
    path("people/", include("coachbook.accounts.urls")),
    path("", include("coachbook.digests.urls")),
    path("account/logout/", sign_out, name="account_logout"),
    path("account/", include("coachbook.accounts.own_urls")),
    path("account/", include(account_pages)),
]
