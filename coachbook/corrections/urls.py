"""The addresses of corrections."""

from django.urls import path

from coachbook.corrections import views
from coachbook.corrections.approvals import views as approval_views

urlpatterns = [
    path("students/<uuid:key>/lessons/<uuid:lesson_key>/move/", views.lesson_move, name="lesson_move"),
    path(
        "students/<uuid:key>/lessons/<uuid:lesson_key>/edits/<uuid:edit_key>/undo/",
        views.lesson_edit_undo,
        name="lesson_edit_undo",
    ),
    path("students/<uuid:key>/merge/", views.student_merge, name="student_merge"),
    path("students/<uuid:key>/focuses/<uuid:focus_key>/open-again/", views.focus_reopen, name="focus_reopen"),
    path("students/<uuid:key>/changes/", views.changes, name="changes"),
    path("students/<uuid:key>/changes/<slug:kind>/<int:number>/", views.earlier_words, name="earlier_words"),
    path("students/<uuid:key>/changes/<slug:kind>/<int:number>/restore/", views.words_restore, name="words_restore"),
    path("students/<uuid:key>/changes/<uuid:correction_key>/undo/", views.correction_undo, name="correction_undo"),
    path("students/<uuid:key>/age/", approval_views.age_ask, name="age_ask"),
    path("students/<uuid:key>/access/", approval_views.student_access_ask, name="student_access_ask"),
    path("people/<uuid:key>/access/", approval_views.person_access_ask, name="person_access_ask"),
    path("approvals/", approval_views.approvals, name="approvals"),
    path("approvals/<uuid:key>/", approval_views.approval, name="approval"),
    path("approvals/<uuid:key>/decide/", approval_views.approval_decide, name="approval_decide"),
    path("approvals/<uuid:key>/seen/", approval_views.approval_seen, name="approval_seen"),
    path("approvals/<uuid:key>/link/", approval_views.approval_link, name="approval_link"),
    path("caseload/corrections/<uuid:correction_key>/undo/", views.access_undo, name="access_undo"),
    path("caseload/corrections/", views.corrections, name="corrections"),
    path("caseload/corrections/<uuid:correction_key>/seen/", views.correction_seen, name="correction_seen"),
]
