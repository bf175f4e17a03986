"""Everything that the academy has recorded as a file."""

from contextlib import ExitStack
from tempfile import TemporaryFile

from django.conf import settings
from django.http import FileResponse, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Student
from coachbook.http import Request
from coachbook.rights.academy_file.archive import save_academy
from coachbook.rights.models import AcademyFile

SHOWN = 20


@require_GET
def academy_file(request: Request) -> HttpResponse:
    """What the file holds, and who saved it when."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    saved = AcademyFile.objects.select_related("by")[:SHOWN]
    return render(request, "rights/academy_file/academy_file.html", {"saved": saved})


@require_POST
def academy_file_save(request: Request) -> FileResponse:
    """The file, which lies on the disk without a name while it is sent; kept is who saved it, and whose records."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    now = timezone.localtime(timezone.now())
    with ExitStack() as opened:
        file = opened.enter_context(TemporaryFile(dir=settings.DATA_DIR))
        save_academy(file, now)
        file.seek(0)
        AcademyFile.objects.create(by=request.user, at=now)
        opened.pop_all()  # the answer closes it
    gate.note_readings(request, Student.objects.all())
    name = f"academy-{now:%Y-%m-%d}.zip"
    return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")
