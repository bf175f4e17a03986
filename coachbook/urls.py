"""The table of contents of the site."""

from django.urls import include, path

from coachbook import views

urlpatterns = [
    path("", views.home, name="home"),
    path("appearance/", views.appearance, name="appearance"),
    path("students/", include("coachbook.loop.urls")),
    path("drills/", include("drills.urls")),
    path("people/", include("coachbook.accounts.urls")),
    path("account/", include("allauth.account.urls")),
]
