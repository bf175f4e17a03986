"""The addresses of corrections."""

from django.urls import path

from coachbook.corrections import views

urlpatterns = [
    path("students/<uuid:key>/lessons/<uuid:lesson_key>/move/", views.lesson_move, name="lesson_move"),
    path("students/<uuid:key>/merge/", views.student_merge, name="student_merge"),
    path("students/<uuid:key>/focuses/<uuid:focus_key>/open-again/", views.focus_reopen, name="focus_reopen"),
    path("students/<uuid:key>/changes/", views.changes, name="changes"),
    path("students/<uuid:key>/changes/<slug:kind>/<int:number>/", views.earlier_words, name="earlier_words"),
    path("students/<uuid:key>/changes/<slug:kind>/<int:number>/restore/", views.words_restore, name="words_restore"),
    path("students/<uuid:key>/changes/<uuid:correction_key>/undo/", views.correction_undo, name="correction_undo"),
    path("caseload/corrections/", views.corrections, name="corrections"),
    path("caseload/corrections/<uuid:correction_key>/seen/", views.correction_seen, name="correction_seen"),
]
