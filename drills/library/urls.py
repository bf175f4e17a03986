"""The drill library."""

from django.urls import include, path

from drills.library import views

urlpatterns = [
    path("", views.drills, name="drills"),
    path("file/", include("drills.library.carry.urls")),
    path("<slug:code>/holding/", include("drills.library.holding.urls")),
    path("", include("drills.library.editing.urls")),
    path("usual/", include("drills.library.usual.urls")),
    path("<slug:code>/", views.drill, name="drill"),
]
