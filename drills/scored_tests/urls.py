"""A student's scored tests, their results, and rounds."""

from django.urls import URLPattern, path

from drills.scored_tests.recording import views as score_views
from drills.scored_tests.results import views as result_views
from drills.scored_tests.rounds import views as round_views

urlpatterns: list[URLPattern] = [
    path("", score_views.tests, name="tests"),
    path("new/", score_views.test_new, name="test_new"),
    path("<uuid:test_key>/", score_views.scored_test, name="scored_test"),
    path("<uuid:test_key>/balls/", score_views.test_ball, name="test_ball"),
    path("<uuid:test_key>/undo/", score_views.test_undo, name="test_undo"),
    path("<uuid:test_key>/done/", score_views.test_done, name="test_done"),
    path("<uuid:test_key>/void/", score_views.test_void, name="test_void"),
    path("rounds/", round_views.rounds, name="rounds"),
    path("rounds/<uuid:round_key>/", round_views.round_report, name="round_report"),
    path("rounds/<uuid:round_key>/void/", round_views.round_void, name="round_void"),
    path("results/", result_views.test_results, name="test_results"),
    path("<uuid:test_key>/result/", result_views.test_result, name="test_result"),
]
