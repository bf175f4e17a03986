"""A student's practice."""

from django.urls import path

from drills.practice import views as practice_views

urlpatterns = [
    path("", practice_views.today, name="today"),
    path("<uuid:prescription_key>/", practice_views.practice_doing, name="practice_doing"),
    path("<uuid:prescription_key>/mark/", practice_views.practice_mark, name="practice_mark"),
    path("<uuid:prescription_key>/<uuid:entry_key>/", practice_views.practice_report, name="practice_report"),
    path("<uuid:prescription_key>/<uuid:entry_key>/void/", practice_views.practice_void, name="practice_void"),
]
