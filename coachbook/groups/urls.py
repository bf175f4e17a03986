"""Sessions with several students."""

from django.urls import path

from coachbook.groups import views

urlpatterns = [
    path("groups/new/", views.group_new, name="group_new"),
    path("groups/<uuid:session_key>/", views.group, name="group"),
    path("groups/<uuid:session_key>/again/", views.group_again, name="group_again"),
    path("groups/appointment/<uuid:appointment_key>/", views.group_of_appointment, name="group_of_appointment"),
    path("groups/<uuid:session_key>/sheets/", views.group_sheets, name="group_sheets"),
    path("groups/<uuid:session_key>/sheets/pdf/", views.group_pdf, name="group_pdf"),
]
