"""The manager's view over all coaches."""

from django.urls import path

from coachbook.caseload import views
from coachbook.caseload.care import views as care_views
from coachbook.caseload.findings import views as findings_views

urlpatterns = [
    path("", views.caseload, name="caseload"),
    path("students/", views.caseload_students, name="caseload_students"),
    path("lessons/", views.caseload_lessons, name="caseload_lessons"),
    path("students.csv", views.caseload_file, name="caseload_file"),
    path("progress/", findings_views.academy_progress, name="academy_progress"),
    path("<uuid:coach>/", views.coach_caseload, name="coach_caseload"),
    path("<uuid:coach>/hand-over/", care_views.hand_over, name="hand_over"),
    path("move/<uuid:key>/", care_views.student_move, name="student_move"),
]
