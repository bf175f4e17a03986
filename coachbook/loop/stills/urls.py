"""The addresses of a lesson's stills."""

from django.urls import include, path

from coachbook.loop.stills import views

urlpatterns = [
    path("beside/", include("coachbook.loop.stills.beside.urls")),
    path("", views.stills, name="stills"),
    path("to-come/", views.stills_to_come, name="stills_to_come"),
    path("<uuid:still_key>/", views.still, name="still"),
    path("<uuid:still_key>/picture.jpg", views.still_picture, name="still_picture"),
    path("<uuid:still_key>/small.jpg", views.still_thumbnail, name="still_thumbnail"),
    path("<uuid:still_key>/measures/", include("coachbook.loop.stills.measuring.urls")),
    path("<uuid:still_key>/change/", views.still_change, name="still_change"),
    path("<uuid:still_key>/erase/", views.still_erase, name="still_erase"),
    path("<uuid:still_key>/hide/", views.still_hide, name="still_hide"),
    path("<uuid:still_key>/show/", views.still_show, name="still_show"),
]
