"""A student's scored tests, what they say, and rounds."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
