"""The one address of its own that an outbox needs: forms are sent to theirs."""

from django.urls import path

from coachbook.outbox import views

urlpatterns = [path("who/", views.outbox_who, name="outbox_who")]
