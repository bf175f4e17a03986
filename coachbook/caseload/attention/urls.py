"""The list of who needs attention."""

from django.urls import path

from coachbook.caseload.attention import views

urlpatterns = [
    path("", views.attention, name="attention"),
    path("rules/", views.attention_rules, name="attention_rules"),
    path("<uuid:key>/<slug:kind>/snooze/", views.attention_snooze, name="attention_snooze"),
]
