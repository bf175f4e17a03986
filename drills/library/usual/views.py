"""What a log offers a coach first for each fault, and what they choose in its place."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from coachbook.accounts import gate
from coachbook.accounts.gate import Permission
from coachbook.accounts.models import Area
from coachbook.forms import render_form
from coachbook.http import Request
from drills.library.fitting import OfferedDrill, fitting_drills, read_offered
from drills.library.forms import in_order_of_skills
from drills.library.usual.forms import UsualForm
from drills.library.views import faults_for
from drills.practice.prescribe import given_last, usual_prescription
from lessons.matching import contains_all, words_of
from lessons.models import Fault

LONGEST = 100  # letters of a search


@require_GET
def usual_drills(request: Request) -> HttpResponse:
    """What comes first for each fault of an area, or for the faults that a search finds in all of them."""
    gate.require(request, Permission.ACT_AS_COACH)
    words = words_of(request.GET.get("q", "")[:LONGEST])
    area = request.GET.get("area", "") if request.GET.get("area") in Area.values else Area.PUTTING
    faults = [
        fault
        for fault in in_order_of_skills(faults_for(request.user))
        if (contains_all(names_of(fault), words) if words else fault.skill.area == area)
    ]
    offered, given = read_offered(request.user.coach), given_last(request.user.coach)
    context = {
        "rows": [(fault, usual_prescription(fault, offered, given)) for fault in faults],
        "area": "" if words else area,
        "areas": Area,
        "q": request.GET.get("q", "")[:LONGEST],
    }
    return render(request, "drills/library/usual_drills.html", context)


@require_http_methods(["GET", "POST"])
def usual_drill(request: Request, code: str) -> HttpResponse:
    """Choose one's own drill and dose for a fault."""
    gate.require(request, Permission.ACT_AS_COACH)
    coach, fault = request.user.coach, get_object_or_404(faults_for(request.user), code=code)
    offered = read_offered(coach)
    fitting = fitting_drills(fault, offered)
    others = [row.drill for row in offered if is_other(row, fault) and row.drill not in fitting]
    stored = coach.usual_drills.select_related("drill").filter(fault=fault).first()
    form = UsualForm(request.POST if request.method == "POST" else None, stored=stored, fitting=fitting, others=others)
    if form.is_valid():
        row = form.save(coach, fault)
        messages.success(request, f"Saved: {row.drill} is your usual drill for {fault}.")
        return redirect("usual_drills")
    context = {"fault": fault, "stored": stored, "first": fitting[0] if fitting else None}
    return render_form(request, "drills/library/usual_drill.html", form, context)


@require_POST
def usual_reset(request: Request, code: str) -> HttpResponse:
    """Go back to what the academy offers first."""
    gate.require(request, Permission.ACT_AS_COACH)
    fault = get_object_or_404(faults_for(request.user), code=code)
    for row in request.user.coach.usual_drills.filter(fault=fault):
        row.delete()
    messages.success(request, f"{fault}: the academy’s drill comes first again.")
    return redirect("usual_drills")


def is_other(row: OfferedDrill, fault: Fault) -> bool:
    """Whether a drill of the fault's area may be chosen though it does not mend it; never one that is wrong for it."""
    return row.drill.area == fault.skill.area and not (fault.pk in row.fits and row.fits[fault.pk].is_wrong)


def names_of(fault: Fault) -> list[str]:
    """The words by which a fault is found."""
    return [str(fault), str(fault.skill), fault.skill.get_area_display()]
