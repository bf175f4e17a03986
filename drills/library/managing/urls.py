"""What managers do with drills."""

from django.urls import path

from drills.library.managing import views

urlpatterns = [
    path("take-in/", views.drill_take_in, name="drill_take_in"),
    path("give-back/", views.drill_give_back, name="drill_give_back"),
    path("move/", views.drill_move, name="drill_move"),
    path("merge/", views.drill_merge, name="drill_merge"),
    path("unmerge/", views.drill_unmerge, name="drill_unmerge"),
]
