"""A student's scored tests, what they say, and rounds."""

from django.urls import URLPattern, path

from drills.scored_tests.recording import views as score_views
from drills.scored_tests.results import views as putter_views
from drills.scored_tests.rounds import views as round_views

urlpatterns: list[URLPattern] = [
    path("", score_views.tests, name="tests"),
    path("new/", score_views.test_new, name="test_new"),
    path("<uuid:test_key>/", score_views.scored_test, name="scored_test"),
    path("<uuid:test_key>/balls/", score_views.test_ball, name="test_ball"),
    path("<uuid:test_key>/undo/", score_views.test_undo, name="test_undo"),
    path("<uuid:test_key>/done/", score_views.test_done, name="test_done"),
    path("<uuid:test_key>/strike/", score_views.test_strike, name="test_strike"),
    path("rounds/", round_views.rounds, name="rounds"),
    path("rounds/<uuid:round_key>/", round_views.round_report, name="round_report"),
    path("rounds/<uuid:round_key>/strike/", round_views.round_strike, name="round_strike"),
    path("putter/", putter_views.putter, name="putter"),
    path("<uuid:test_key>/says/", putter_views.test_says, name="test_says"),
]
