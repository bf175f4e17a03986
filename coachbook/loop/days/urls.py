"""A coach's days."""

from django.urls import path

from coachbook.loop.days import views

urlpatterns = [
    path("", views.day, name="day"),
    path("week/", views.week, name="week"),
]
