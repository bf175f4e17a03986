"""Who teaches a student, and for how long."""

from django.urls import path

from coachbook.caseload.care import views as care_views

urlpatterns = [
    path("", care_views.care, name="care"),
    path("<int:number>/end/", care_views.care_end, name="care_end"),
]
