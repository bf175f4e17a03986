"""The words by which a note is understood."""

from django.urls import path

from coachbook.loop.phrases import views

urlpatterns = [
    path("", views.phrases, name="phrases"),
    path("<uuid:key>/remove/", views.phrase_remove, name="phrase_remove"),
]
