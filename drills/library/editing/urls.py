"""Adding and changing drills."""

from django.urls import path

from drills.library.editing import views

urlpatterns = [
    path("new/", views.drill_new, name="drill_new"),
    path("<slug:code>/edit/", views.drill_edit, name="drill_edit"),
]
