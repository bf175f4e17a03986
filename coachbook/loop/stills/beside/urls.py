"""The addresses of a pair of stills."""

from django.urls import path

from coachbook.loop.stills.beside import views

urlpatterns = [
    path("", views.stills_pairs, name="stills_pairs"),
    path("<uuid:checkpoint_key>/<str:view>/", views.beside, name="stills_beside"),
    path("<uuid:checkpoint_key>/<str:view>/align/", views.stills_align, name="stills_align"),
    path("<uuid:checkpoint_key>/<str:view>/focus/", views.stills_focus, name="stills_focus"),
]
