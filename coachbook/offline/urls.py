"""What works without a network."""

from django.urls import path

from coachbook.offline import views

urlpatterns = [
    path("worker.js", views.service_worker, name="service_worker"),
    path("offline/", views.offline_shell, name="offline_shell"),
    path("offline/day/", views.offline_day, name="offline_day"),
]
