"""The designs of scored tests, which an academy may change."""

from django.urls import URLPattern

urlpatterns: list[URLPattern] = []
