"""The designs of scored tests."""

from django.urls import URLPattern, path

from drills.scored_tests.designs import views as design_views

urlpatterns: list[URLPattern] = [
    path("", design_views.designs, name="designs"),
    path("new/", design_views.design_new, name="design_new"),
    path("<slug:code>/", design_views.design, name="design"),
]
