"""Adding and changing drills."""

from django.urls import path

from drills.library.editing import views

urlpatterns = [
    path("new/", views.drill_new, name="drill_new"),
    path("<slug:code>/edit/", views.drill_edit, name="drill_edit"),
    path("<slug:code>/archive/", views.drill_archive, name="drill_archive"),
    path("<slug:code>/restore/", views.drill_restore, name="drill_restore"),
    path("<slug:code>/offer/", views.drill_offer, name="drill_offer"),
    path("<slug:code>/keep/", views.drill_keep, name="drill_keep"),
]
