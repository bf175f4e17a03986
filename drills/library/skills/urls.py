"""Skills and faults of the library."""

from django.urls import path, re_path

from drills.library.skills import views

ROW = r"^(?P<kind>skill|fault)/(?P<code>[-a-zA-Z0-9_]+)/"

urlpatterns = [
    path("", views.skills, name="skills"),
    path("new/", views.skill_new, name="skill_new"),
    path("skill/<slug:code>/fault/", views.fault_new, name="fault_new"),
    re_path(rf"{ROW}$", views.skill_row, name="skill_row"),
    re_path(rf"{ROW}edit/$", views.skill_row_edit, name="skill_row_edit"),
]
