"""What became of the changes for which a drill was given."""

from django.urls import URLPattern, path

from drills.library.holding import views

urlpatterns: list[URLPattern] = [path("", views.drill_holding, name="drill_holding")]
