"""A student's week of practice."""

from django.urls import path

from drills.practice.week import views

urlpatterns = [
    path("", views.practice_week, name="practice_week"),
    path("days/", views.practice_days, name="practice_days"),
]
