"""What may be done with a row of the catalogue, whatever its kind."""

from django.urls import re_path

from drills.library.rows import views

ROW = r"^(?P<kind>skill|fault|drill|design)/(?P<code>[-a-zA-Z0-9_]+)/"
MERGED = ROW.replace("|design", "")  # tests that were recorded with one design are never counted as another's

urlpatterns = [
    re_path(rf"{ROW}archive/$", views.archive, name="row_archive"),
    re_path(rf"{ROW}restore/$", views.restore, name="row_restore"),
    re_path(rf"{ROW}offer/$", views.offer, name="row_offer"),
    re_path(rf"{ROW}keep/$", views.keep, name="row_keep"),
    re_path(rf"{ROW}take-in/$", views.take_in, name="row_take_in"),
    re_path(rf"{ROW}give-back/$", views.give_back, name="row_give_back"),
    re_path(rf"{ROW}move/$", views.move, name="row_move"),
    re_path(rf"{MERGED}merge/$", views.merge, name="row_merge"),
    re_path(rf"{MERGED}unmerge/$", views.unmerge, name="row_unmerge"),
]
