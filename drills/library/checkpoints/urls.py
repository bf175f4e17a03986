"""The addresses of checkpoints."""

from django.urls import path

from drills.library.checkpoints import views

urlpatterns = [
    path("", views.checkpoints, name="checkpoints"),
    path("<uuid:key>/", views.checkpoint, name="checkpoint"),
]
