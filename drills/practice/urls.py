"""A student's practice."""

from django.urls import include, path

from drills.practice import views as practice_views
from drills.practice.paper_days.views import practice_month

urlpatterns = [
    path("", practice_views.today, name="today"),
    path("week/", include("drills.practice.week.urls")),
    path("<int:year>-<int:month_of_year>/", practice_month, name="practice_month"),
    path("<uuid:prescription_key>/", practice_views.practice_doing, name="practice_doing"),
    path("<uuid:prescription_key>/mark/", practice_views.practice_mark, name="practice_mark"),
    path("<uuid:prescription_key>/<uuid:entry_key>/", practice_views.practice_report, name="practice_report"),
    path("<uuid:prescription_key>/<uuid:entry_key>/void/", practice_views.practice_void, name="practice_void"),
]
