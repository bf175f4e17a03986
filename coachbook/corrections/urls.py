"""The addresses of this room."""

from django.urls import path

from coachbook.corrections import views

urlpatterns = [
    path("students/<uuid:key>/lessons/<uuid:lesson_key>/move/", views.lesson_move, name="lesson_move"),
    path("students/<uuid:key>/merge/", views.student_merge, name="student_merge"),
    path("students/<uuid:key>/focuses/<uuid:focus_key>/open-again/", views.focus_reopen, name="focus_reopen"),
    path("students/<uuid:key>/changes/", views.changes, name="changes"),
    path("students/<uuid:key>/changes/<uuid:amendment_key>/undo/", views.amendment_undo, name="amendment_undo"),
    path("caseload/corrections/", views.corrections, name="corrections"),
    path("caseload/corrections/<uuid:amendment_key>/seen/", views.correction_seen, name="correction_seen"),
]
