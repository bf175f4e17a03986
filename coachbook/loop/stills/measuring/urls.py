"""The addresses of what is measured in a still."""

from django.urls import path

from coachbook.loop.stills.measuring import views

urlpatterns = [
    path("", views.still_measures, name="still_measures"),
    path("<uuid:measure_key>/", views.still_measure, name="still_measure"),
    path("<uuid:measure_key>/take-away/", views.still_measure_void, name="still_measure_void"),
    path("<uuid:measure_key>/put-back/", views.still_measure_restore, name="still_measure_restore"),
]
