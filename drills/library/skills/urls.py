"""Skills and faults of the library."""

from django.urls import path, re_path

from drills.library.skills.views import actions, pages

ROW = r"^(?P<kind>skill|fault)/(?P<code>[-a-zA-Z0-9_]+)/"

urlpatterns = [
    path("", pages.skills, name="skills"),
    path("new/", pages.skill_new, name="skill_new"),
    path("skill/<slug:code>/fault/", pages.fault_new, name="fault_new"),
    re_path(rf"{ROW}$", pages.skill_row, name="skill_row"),
    re_path(rf"{ROW}edit/$", pages.skill_row_edit, name="skill_row_edit"),
    re_path(rf"{ROW}archive/$", actions.archive, name="skill_row_archive"),
    re_path(rf"{ROW}restore/$", actions.restore, name="skill_row_restore"),
    re_path(rf"{ROW}offer/$", actions.offer, name="skill_row_offer"),
    re_path(rf"{ROW}keep/$", actions.keep, name="skill_row_keep"),
    re_path(rf"{ROW}take-in/$", actions.take_in, name="skill_row_take_in"),
    re_path(rf"{ROW}give-back/$", actions.give_back, name="skill_row_give_back"),
    re_path(rf"{ROW}move/$", actions.move, name="skill_row_move"),
    re_path(rf"{ROW}merge/$", actions.merge, name="skill_row_merge"),
    re_path(rf"{ROW}unmerge/$", actions.unmerge, name="skill_row_unmerge"),
]
