"""The table of contents of the site."""

from allauth.account import urls as account_urls
from django.urls import include, path

from coachbook import views
from coachbook.loop.sheets import views as sheet_views

# Addresses are changed by whoever invites, who sees that no two people have the same: not by allauth's own page.
account_pages = [page for page in account_urls.urlpatterns if page.name != "account_email"]
handler404 = "coachbook.views.not_found"
handler403 = "coachbook.views.forbidden"

urlpatterns = [
    path("", views.home, name="home"),
    path("appearance/", views.appearance, name="appearance"),
    path("students/", include("coachbook.loop.urls")),
    path("students/<uuid:key>/practice/", include("drills.practice.urls")),
    path("students/<uuid:key>/tests/", include("drills.scored_tests.urls")),
    path("students/<uuid:key>/care/", include("coachbook.caseload.care.urls")),
    path("diary/", include("coachbook.loop.days.urls")),
    path("", include("coachbook.diary.urls")),
    path("", include("coachbook.family.urls")),
    path("", include("coachbook.groups.urls")),
    path("", include("coachbook.corrections.urls")),
    path("caseload/", include("coachbook.caseload.urls")),
    path("sheet/<str:token>/", sheet_views.shared_sheet, name="shared_sheet"),
    path("drills/", include("drills.library.urls")),
    path("tests/", include("drills.scored_tests.designs.urls")),
    path("people/", include("coachbook.accounts.urls")),
    path("account/", include(account_pages)),
]
