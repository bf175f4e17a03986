"""What is the same for everyone in a group, and where one student differs; a later change leaves each student's own."""

from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from coachbook.accounts.models import Area, AreaFlags, covers_an_area, is_one_of
from drills.models import Drill, Prescription
from drills.practice.prescribe import Dose
from lessons.models import Fault, Focus, Lesson, Session


class GroupDefaults(AreaFlags):
    """What a group's coach last saved for everyone: areas, what to keep, the focus with its drill, and next time."""

    session = models.OneToOneField(Session, on_delete=models.PROTECT, related_name="group_defaults")
    keep = models.TextField(blank=True)
    next_time = models.TextField("what to look at next time", blank=True)
    fault = models.ForeignKey(Fault, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    what = models.CharField("in the coach's own words", max_length=200, blank=True)
    area = models.CharField("area of own words", max_length=8, choices=Area, default=Area.PUTTING)
    feel = models.CharField(max_length=300, blank=True)
    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    amount = models.PositiveSmallIntegerField("a session", null=True, blank=True)
    unit = models.CharField(max_length=9, choices=Drill.Unit, default=Drill.Unit.MINUTES)
    per_week = models.PositiveSmallIntegerField("sessions a week", null=True, blank=True)
    days = models.PositiveSmallIntegerField(null=True, blank=True)
    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(name="group_defaults_covers_an_area", condition=covers_an_area()),
            models.CheckConstraint(name="group_defaults_area_known", condition=is_one_of("area", Area)),
            models.CheckConstraint(
                name="group_defaults_drill_has_a_dose",
                condition=Q(drill=None) | Q(amount__range=(1, 300), per_week__range=(1, 7), days__range=(1, 365)),
            ),
        ]

    def __str__(self) -> str:
        return f"the same for everyone in {self.session}"

    @property
    def has_focus(self) -> bool:
        """Whether there is a focus for everyone."""
        return bool(self.fault_id or self.what)

    @property
    def dose(self) -> Dose | None:
        """The dose of the drill, if there is one."""
        if self.amount is None or self.per_week is None or self.days is None:
            return None
        return Dose(self.amount, self.unit, self.per_week, self.days)

    def is_about(self, focus: Focus) -> bool:
        """Whether a focus is the one for everyone."""
        return (focus.fault_id, focus.what, focus.area) == (self.fault_id, self.what, self.area)

    def gave(self, row: Prescription) -> bool:
        """Whether a prescription is the drill, in the dose, for everyone."""
        return row.drill_id == self.drill_id and Dose(row.amount, row.unit, row.per_week, row.days) == self.dose


class GroupMember(models.Model):
    """What a group's coach chose for one student; without a row they get the focus, and keep the drills they have."""

    lesson = models.OneToOneField(Lesson, on_delete=models.CASCADE, related_name="group_member")
    skips_focus = models.BooleanField("skip the focus for everyone", default=False)
    adds_drill = models.BooleanField("give the drill for everyone, too", default=False)
    history = HistoricalRecords()

    def __str__(self) -> str:
        return f"choices for {self.lesson}"
