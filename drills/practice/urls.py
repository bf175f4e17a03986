"""A student's practice."""

from django.urls import include, path

from drills.practice import views as practice_views

urlpatterns = [
    path("", practice_views.today, name="today"),
    path("week/", include("drills.practice.week.urls")),
    path("<uuid:prescription_key>/<uuid:entry_key>/", practice_views.practice_report, name="practice_report"),
    path("<uuid:prescription_key>/<uuid:entry_key>/void/", practice_views.practice_void, name="practice_void"),
]
