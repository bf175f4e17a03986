"""The page on which a row is shown, and the list in which it stands."""

from django.urls import reverse

from drills.library.rows.access import Row, kind_of
from drills.models import Design, Drill
from lessons.models import Fault, Skill


def address_of(row: Row, *, in_list: bool = False) -> str:
    """The address of a row's page, or of the place where it is ordered among others."""
    if isinstance(row, Design):
        return reverse("designs")
    if isinstance(row, Drill):
        return reverse("drill", args=[row.code])
    if isinstance(row, Fault) and in_list:
        return reverse("skill_row", args=["skill", row.counted_skill.code])
    if isinstance(row, Skill) and in_list:
        return f"{reverse('skills')}?area={row.area}#{row.code}"
    return reverse("skill_row", args=[kind_of(row), row.code])
