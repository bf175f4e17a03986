"""Students, and what happens with them."""

from django.urls import include, path

from coachbook.loop.brief import views as brief_views
from coachbook.loop.intake import views as intake_views
from coachbook.loop.log import views as log_views
from coachbook.loop.months import views as month_views
from coachbook.loop.paper import views as paper_views
from coachbook.loop.progress import views as progress_views
from coachbook.loop.record import views as record_views
from coachbook.loop.sheets import views as sheet_views
from coachbook.loop.stills.beside import views as beside_views
from coachbook.loop.stills.consent import views as consent_views
from coachbook.loop.students import views
from coachbook.loop.students_file import views as file_views

urlpatterns = [
    path("", views.students, name="students"),
    path("new/", views.student_new, name="student_new"),
    path("file/", file_views.students_file, name="students_file"),
    path("file/save/", file_views.students_file_save, name="students_file_save"),
    path("choices/<str:looks>/<str:digest>/", log_views.log_choices, name="log_choices"),
    path("walk-in/", intake_views.walk_in_new, name="walk_in_new"),
    path("<uuid:key>/walk-in/", intake_views.walk_in, name="walk_in"),
    path("<uuid:key>/intake/", intake_views.intake, name="intake"),
    path("<uuid:key>/pauses/", intake_views.pauses, name="pauses"),
    path("<uuid:key>/pauses/<uuid:pause_key>/end/", intake_views.pause_end, name="pause_end"),
    path("<uuid:key>/", views.student, name="student"),
    path("<uuid:key>/details/", views.student_details, name="student_details"),
    path("<uuid:key>/invite/", views.student_invite, name="student_invite"),
    path("<uuid:key>/brief/", brief_views.brief, name="brief"),
    path("<uuid:key>/paper-log/", paper_views.paper_log, name="paper_log"),
    path("<uuid:key>/paper-log/pdf/", paper_views.paper_log_pdf, name="paper_log_pdf"),
    path("<uuid:key>/lessons/new/", log_views.lesson_new, name="lesson_new"),
    path("<uuid:key>/lessons/<uuid:lesson_key>/", log_views.lesson, name="lesson"),
    path("<uuid:key>/lessons/<uuid:lesson_key>/stills/", include("coachbook.loop.stills.urls")),
    path("<uuid:key>/stills/", beside_views.stills_over_time, name="stills_over_time"),
    path("<uuid:key>/pictures/", consent_views.pictures, name="pictures"),
    path("<uuid:key>/pictures/agreed-no-more/", consent_views.pictures_no_more, name="pictures_no_more"),
    path("<uuid:key>/months/", month_views.months, name="months"),
    path("<uuid:key>/months/<str:month>/", month_views.month, name="month"),
    path("<uuid:key>/months/<str:month>.pdf", month_views.month_pdf, name="month_pdf"),
    path("<uuid:key>/search/", record_views.lesson_search, name="lesson_search"),
    path("<uuid:key>/sheets/<uuid:sheet_key>/", sheet_views.sheet, name="sheet"),
    path("<uuid:key>/sheets/<uuid:sheet_key>/pdf/", sheet_views.sheet_pdf, name="sheet_pdf"),
    path("<uuid:key>/sheets/<uuid:sheet_key>/void/", sheet_views.sheet_void, name="sheet_void"),
    path("<uuid:key>/progress/", progress_views.progress, name="progress"),
    path("<uuid:key>/progress/<int:number>/", progress_views.progress_explore, name="progress_explore"),
    path("<uuid:key>/progress/<uuid:focus_key>/", progress_views.progress_explore, name="progress_explore"),
]
