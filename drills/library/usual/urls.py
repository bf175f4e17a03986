"""A coach's usual drills."""

from django.urls import path

from drills.library.usual import views

urlpatterns = [
    path("", views.usual_drills, name="usual_drills"),
    path("<slug:code>/", views.usual_drill, name="usual_drill"),
    path("<slug:code>/reset/", views.usual_reset, name="usual_reset"),
]
