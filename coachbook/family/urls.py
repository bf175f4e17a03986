"""The addresses of consents, guardians and messages."""

from django.urls import path

from coachbook.family import views
from coachbook.family.messages import views as message_views

urlpatterns = [
    path("students/<uuid:key>/consents/", views.consents, name="consents"),
    path("students/<uuid:key>/consents/<str:purpose>/give/", views.consent_give, name="consent_give"),
    path("students/<uuid:key>/consents/<str:purpose>/withdraw/", views.consent_withdraw, name="consent_withdraw"),
    path("students/<uuid:key>/guardians/", views.guardians, name="guardians"),
    path("students/<uuid:key>/guardians/add/", views.guardian_add, name="guardian_add"),
    path("students/<uuid:key>/guardians/<uuid:guardian_key>/end/", views.guardian_end, name="guardian_end"),
    path("students/<uuid:key>/messages/", message_views.messages, name="messages"),
    path("students/<uuid:key>/messages/read/", message_views.messages_read, name="messages_read"),
    path("students/<uuid:key>/messages/<uuid:message_key>/", message_views.message_write, name="message_write"),
]
