"""Everything about one student as a file."""

import uuid

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from coachbook.accounts import gate
from coachbook.accounts.gate import FAMILY, Permission
from coachbook.http import Request
from coachbook.rights.export.archive import archive
from coachbook.rights.export.gather import gather, pictures_of


@require_http_methods(["GET", "POST"])
def student_export(request: Request, key: uuid.UUID) -> HttpResponse:
    """What the file holds, and on a POST the file, as this person may read the record."""
    student = gate.get_student(request, Permission.EXPORT_RECORD, key)
    is_family = bool(gate.relationships_of(student) & FAMILY) and not request.user.is_manager
    if request.method == "GET":
        return render(request, "rights/export/export.html", {"student": student, "is_family": is_family})
    now = timezone.localtime(timezone.now())
    tables = gather(student, family=is_family)
    pictures = pictures_of(student, request.academy, request.academy.today(now), family=is_family)
    packed = archive(student, tables, pictures, academy=request.academy.name, at=now)
    name = f'attachment; filename="record-{now:%Y-%m-%d}.zip"'
    return HttpResponse(packed, content_type="application/zip", headers={"Content-Disposition": name})
