"""The addresses of accounts, invitations and the academy's settings."""

from django.urls import path

from coachbook.accounts.views import academy as academy_views
from coachbook.accounts.views import people as views

urlpatterns = [
    path("", views.people, name="people"),
    path("academy/", academy_views.academy, name="academy"),
    path("invite/", views.person_invite, name="person_invite"),
    path("<uuid:key>/link/", views.person_link, name="person_link"),
    path("code/", views.one_time_code, name="one_time_code"),
    path("invitation/<str:token>/", views.invitation, name="invitation"),
]
