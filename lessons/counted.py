"""As which skills and faults the rows of lessons are counted, in the words of the database.

Rows keep the skill and the fault with which they were logged; they are counted as those that these were merged into. A
fault is looked at under the skill that it has now.
"""

from collections.abc import Iterable
from typing import Any

from django.db.models import Case, F, Q, QuerySet, When
from django.db.models.functions import Coalesce

from lessons.models import Observation

IS_GRADED = Q(verdict=Observation.Verdict.GOOD) | Q(seen_faults__isnull=False)
COUNTED_SKILL = Coalesce("skill__merged_into", "skill")  # of an observation, or of a fault that was not merged
COUNTED_FAULT = Coalesce("seen_faults__fault__merged_into", "seen_faults__fault")
# A number that was measured in another way than the skill is now keeps its own skill.
SAME_MEASURE = Q(merged_into__measure=F("measure")) & Q(merged_into__measure_unit=F("measure_unit"))
MEASURED_SKILL = Case(When(SAME_MEASURE, then="merged_into"), default="pk")


def skill_of_fault(fault: str = "") -> Coalesce:
    """The skill under which a fault is looked at; `fault` leads to it, with its underscores."""
    steps = ("merged_into__skill__merged_into", "merged_into__skill", "skill__merged_into", "skill")
    return Coalesce(*(f"{fault}{step}" for step in steps))


def graded_rows(observations: QuerySet[Observation], *look: Any) -> Iterable[tuple[Any, ...]]:
    """Rows of (columns of the look, skill, skill of the fault, fault or None, degree), for each fault and good skill.

    An observation that is not graded holds a measurement or a comment and says nothing of a fault that it does not
    name; nor does one that is not good and names none.
    """
    fault = (skill_of_fault("seen_faults__fault__"), COUNTED_FAULT, "seen_faults__degree")
    return observations.filter(IS_GRADED).values_list(*look, COUNTED_SKILL, *fault).iterator(chunk_size=5000)
