"""What was seen of a focus in a coach's own words: they are one student's, so no catalogue names them."""

from django.db import models
from django.db.models import Q

from lessons.models.reasoned_history import ReasonedHistory
from lessons.models.record import Focus, Look


class SeenFocus(models.Model):
    """What one look showed of a focus in a coach's own words: good, or how far from it."""

    class Degree(models.TextChoices):
        GOOD = "good"
        SLIGHT = "slight"
        CLEAR = "clear"
        NOT_GRADED = "not_graded", "not good, not graded"

    look = models.ForeignKey(Look, on_delete=models.CASCADE, related_name="seen_focuses")
    focus = models.ForeignKey(Focus, on_delete=models.CASCADE, related_name="seen")
    degree = models.CharField(max_length=10, choices=Degree)
    history = ReasonedHistory()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["look", "focus"], name="a_focus_once_a_look"),
            models.CheckConstraint(
                name="seen_focus_degree_known", condition=Q(degree__in=("good", "slight", "clear", "not_graded"))
            ),
        ]

    def __str__(self) -> str:
        return f"{self.focus}, {self.get_degree_display()}"
