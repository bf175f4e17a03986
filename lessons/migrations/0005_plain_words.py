"""Rename the degrees of a look, the practice reported and the goal of a skill, in columns and in stored values."""

from typing import Any

from django.db import migrations, models
from django.db.models import F, Q

VERDICTS = {"sound": "good", "unsound": "not_good", "unsaid": "not_graded"}
DEGREES = {"marked": "clear", "unsaid": "not_graded"}


def rename_values(apps: Any, schema_editor: Any) -> None:
    """Write the new verdicts and degrees, in the rows and in their history."""
    replace_values(apps, ("Observation", "HistoricalObservation"), "verdict", VERDICTS)
    replace_values(apps, ("SeenFault", "HistoricalSeenFault"), "degree", DEGREES)


def restore_values(apps: Any, schema_editor: Any) -> None:
    """Write the old verdicts and degrees."""
    for names, field, values in (
        (("Observation", "HistoricalObservation"), "verdict", VERDICTS),
        (("SeenFault", "HistoricalSeenFault"), "degree", DEGREES),
    ):
        replace_values(apps, names, field, {new: old for old, new in values.items()})


def replace_values(apps: Any, names: tuple[str, str], field: str, values: dict[str, str]) -> None:
    """Replace each stored value of a field by another one."""
    for name in names:
        for before, after in values.items():
            apps.get_model("lessons", name).objects.filter(**{field: before}).update(**{field: after})


def rename_shipped(apps: Any, before: str, after: str) -> None:
    """Rename a text in what the catalogue shipped, so that a skill which nobody changed does not look changed."""
    for name in ("Skill", "HistoricalSkill"):
        model = apps.get_model("lessons", name)
        for row in model.objects.all():
            if before in row.shipped:
                shipped = {after if key == before else key: text for key, text in row.shipped.items()}
                model.objects.filter(pk=row.pk).update(shipped=shipped)


def rename_shipped_goal(apps: Any, schema_editor: Any) -> None:
    """What a skill should look like is its goal."""
    rename_shipped(apps, "sound", "goal")


def restore_shipped_goal(apps: Any, schema_editor: Any) -> None:
    """The opposite."""
    rename_shipped(apps, "goal", "sound")


def recompute(apps: Any, schema_editor: Any) -> None:
    """Compute the outcomes and counts of lessons that were written before these were stored."""
    from lessons.derived import recompute_all

    is_computed = apps.get_model("lessons", "MonthCount").objects.exists()
    if not is_computed and apps.get_model("lessons", "Lesson").objects.filter(status="complete").exists():
        recompute_all()


PRACTICE = [("", "not asked"), ("none", "none"), ("some", "some"), ("most", "most"), ("all", "all")]
VERDICT_CHOICES = [("good", "Good"), ("not_good", "not good"), ("not_graded", "not graded")]
DEGREE_CHOICES = [("slight", "Slight"), ("clear", "Clear"), ("not_graded", "seen, not graded")]


class Migration(migrations.Migration):
    """One word for one thing, in the database, too."""

    dependencies = [("lessons", "0004_reckoned"), ("accounts", "0004_plain_words")]
    operations = [
        migrations.RemoveIndex("outcome", "outcome_by_day"),
        migrations.RemoveIndex("monthcount", "count_by_fault"),
        migrations.RemoveConstraint("monthcount", "no_more_seen_than_looked"),
        migrations.RenameField("outcome", "told", "practice_reported"),
        migrations.RenameField("monthcount", "marked", "clear"),
        migrations.RenameField("monthcount", "unsaid", "not_graded"),
        migrations.RenameField("lesson", "practice_told", "practice_reported"),
        migrations.RenameField("historicallesson", "practice_told", "practice_reported"),
        migrations.RenameField("skill", "sound", "goal"),
        migrations.RenameField("historicalskill", "sound", "goal"),
        *(
            migrations.AlterField(name, "goal", models.CharField(max_length=300, verbose_name="what it should be"))
            for name in ("skill", "historicalskill")
        ),
        *(
            migrations.AlterField(name, "verdict", models.CharField(choices=VERDICT_CHOICES, max_length=10))
            for name in ("observation", "historicalobservation")
        ),
        *(
            migrations.AlterField(
                name, "degree", models.CharField(choices=DEGREE_CHOICES, default="not_graded", max_length=10)
            )
            for name in ("seenfault", "historicalseenfault")
        ),
        migrations.AlterField(
            "outcome",
            "practice_reported",
            models.CharField(blank=True, choices=PRACTICE, max_length=4, verbose_name="practice reported at arrival"),
        ),
        migrations.RunPython(rename_values, restore_values),
        migrations.RunPython(rename_shipped_goal, restore_shipped_goal),
        migrations.AddConstraint(
            "monthcount",
            models.CheckConstraint(
                name="no_more_seen_than_looked",
                condition=Q(looked__gte=F("slight") + F("clear") + F("not_graded")),
            ),
        ),
        migrations.AddIndex(
            "monthcount",
            models.Index(fields=["fault", "month", "looked", "slight", "clear", "not_graded"], name="count_by_fault"),
        ),
        migrations.AddIndex(
            "outcome",
            models.Index(
                fields=["day", "coach", "fault", "verdict", "student", "practice_reported", "days"],
                name="outcome_by_day",
            ),
        ),
        migrations.RunPython(recompute, migrations.RunPython.noop),
    ]
