"""Everything that the academy has recorded as a file."""

from tempfile import TemporaryFile

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.http import Request
from coachbook.rights.academy_file.archive import save_academy
from coachbook.rights.academy_file.pictures import MOST_ON_A_PAGE, bytes_of_pictures
from coachbook.rights.models import AcademyFile

SHOWN = 20


@require_GET
def academy_file(request: Request) -> HttpResponse:
    """What the file holds, and who saved it when."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    saved = AcademyFile.objects.select_related("by")[:SHOWN]
    context = {"saved": saved, "with_pictures": bytes_of_pictures() <= MOST_ON_A_PAGE}
    return render(request, "rights/academy_file/academy_file.html", context)


@require_POST
def academy_file_save(request: Request) -> HttpResponse:
    """The file; kept is who saved it, and whose records. It is made on the disk, in a file without a name."""
    gate.require(request, Permission.MANAGE_ACADEMY)
    now = timezone.localtime(timezone.now())
    with TemporaryFile(dir=settings.DATA_DIR) as file:
        save_academy(file, now, with_pictures=bytes_of_pictures() <= MOST_ON_A_PAGE)
        file.seek(0)
        packed = file.read()
    AcademyFile.objects.create(by=request.user, at=now)
    gate.note_readings(request, gate.get_students(request))
    name = f'attachment; filename="academy-{now:%Y-%m-%d}.zip"'
    return HttpResponse(packed, content_type="application/zip", headers={"Content-Disposition": name})
