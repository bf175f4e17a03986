"""The addresses of appointments, of closing an account with them, of absences and calendars."""

from django.urls import path

from coachbook.diary import views
from coachbook.diary.absences import views as absence_views
from coachbook.diary.calendar import family_views
from coachbook.diary.calendar import views as calendar_views
from coachbook.diary.following import views as following_views
from coachbook.diary.series import views as series_views

urlpatterns = [
    path("diary/calendar/", calendar_views.calendar, name="calendar"),
    path("diary/calendar/link/", calendar_views.calendar_link, name="calendar_link"),
    path("diary/calendar/end/", calendar_views.calendar_end, name="calendar_end"),
    path("account/calendar/", family_views.family_calendar, name="family_calendar"),
    path("account/calendar/link/", family_views.family_calendar_link, name="family_calendar_link"),
    path("account/calendar/end/", family_views.family_calendar_end, name="family_calendar_end"),
    path("calendar/<str:token>.ics", calendar_views.calendar_feed, name="calendar_feed"),
    path("people/<uuid:key>/close/", following_views.person_close, name="person_close"),
    path("people/<uuid:key>/reopen/", following_views.person_reopen, name="person_reopen"),
    path("students/<uuid:key>/appointments/new/", views.appointment_new, name="appointment_new"),
    path("students/<uuid:key>/appointments/<uuid:appointment_key>/", views.appointment, name="appointment"),
    path(
        "students/<uuid:key>/appointments/<uuid:appointment_key>/decide/",
        views.appointment_decide,
        name="appointment_decide",
    ),
    path(
        "students/<uuid:key>/appointments/<uuid:appointment_key>/series/",
        series_views.series_from_day,
        name="series_from_day",
    ),
    path("students/<uuid:key>/absences/", absence_views.absences, name="absences"),
    path("students/<uuid:key>/absences/<uuid:absence_key>/", absence_views.absence_report, name="absence_report"),
    path(
        "students/<uuid:key>/absences/<uuid:absence_key>/withdraw/",
        absence_views.absence_withdraw,
        name="absence_withdraw",
    ),
]
