"""One student's data: as a file, and erased."""

from django.urls import path

from coachbook.rights import documents, long_gone
from coachbook.rights.erasure import views as erasure_views
from coachbook.rights.export import views as export_views

urlpatterns = [
    path("students/<uuid:key>/export/", export_views.student_export, name="student_export"),
    path("students/<uuid:key>/erasure/", erasure_views.erasure, name="erasure"),
    path("students/<uuid:key>/erasure/ask/", erasure_views.erasure_ask, name="erasure_ask"),
    path("students/<uuid:key>/erasure/agree/", erasure_views.erasure_agree, name="erasure_agree"),
    path("students/<uuid:key>/erasure/call-off/", erasure_views.erasure_call_off, name="erasure_call_off"),
    path("students/<uuid:key>/erasure/carry-out/", erasure_views.erasure_carry_out, name="erasure_carry_out"),
    path("what-we-write-down/", documents.notice, name="data_notice"),
    path("documents/processing/", documents.processing_record, name="processing_record"),
    path("documents/impact/", documents.impact_assessment, name="impact_assessment"),
    path("long-gone/", long_gone.long_gone, name="long_gone"),
]
