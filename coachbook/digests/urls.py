"""The addresses of e-mail notices."""

from django.urls import path

from coachbook.digests import views

urlpatterns = [
    path("account/mails/", views.mails, name="mails"),
    path("mails/off/<str:token>/", views.mails_off, name="mails_off"),
]
