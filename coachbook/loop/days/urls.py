"""A coach's days."""

from django.urls import path

from coachbook.loop.days import views
from coachbook.loop.paper import views as paper_views

urlpatterns = [
    path("", views.day, name="day"),
    path("week/", views.week, name="week"),
    path("paper-log/", paper_views.paper_log_blank, name="paper_log_blank"),
    path("paper-log/pdf/", paper_views.paper_log_blank_pdf, name="paper_log_blank_pdf"),
]
