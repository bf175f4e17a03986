"""Students, and what happens with them."""

from django.urls import path

from coachbook.loop import views

urlpatterns = [
    path("", views.students, name="students"),
    path("new/", views.student_new, name="student_new"),
    path("<uuid:key>/", views.student, name="student"),
    path("<uuid:key>/details/", views.student_details, name="student_details"),
    path("<uuid:key>/invite/", views.student_invite, name="student_invite"),
]
