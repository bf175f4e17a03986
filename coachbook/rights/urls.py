"""One student's data: as a file, and erased."""

from django.urls import path

from coachbook.rights.export import views as export_views

urlpatterns = [
    path("students/<uuid:key>/export/", export_views.student_export, name="student_export"),
]
