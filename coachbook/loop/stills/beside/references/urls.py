"""The addresses of the academy's own reference stills."""

from django.urls import path

from coachbook.loop.stills.beside.references import views

urlpatterns = [
    path("", views.references, name="references"),
    path("new/", views.reference_new, name="reference_new"),
    path("<uuid:key>/", views.reference, name="reference"),
    path("<uuid:key>/archive/", views.reference_archive, name="reference_archive"),
    path("<uuid:key>/picture.jpg", views.reference_picture, name="reference_picture"),
    path("<uuid:key>/small.jpg", views.reference_thumbnail, name="reference_thumbnail"),
]
