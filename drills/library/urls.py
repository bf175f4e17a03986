"""The drill library."""

from django.urls import path

from drills.library import views

urlpatterns = [
    path("", views.drills, name="drills"),
    path("<slug:code>/", views.drill, name="drill"),
]
