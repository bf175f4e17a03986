"""The library as a file."""

from django.urls import URLPattern, path

from drills.library.carry import views

urlpatterns: list[URLPattern] = [
    path("", views.library_file, name="library_file"),
    path("out/", views.library_out, name="library_out"),
    path("in/", views.library_take_in, name="library_take_in"),
]
