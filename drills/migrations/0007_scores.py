"""Scores are numbers: what was typed so far is carried over where a number can be read, and kept in words where not."""

import re
from typing import Any

from django.db import migrations, models

# The whole text is one number, or one of another: "8", "8 of 10", "8/10", "8 out of 10".
NUMBER = re.compile(r"\s*(\d{1,3})\s*(?:(?:/|out of|of)\s*(\d{1,3})\s*)?\.?\s*", re.IGNORECASE)


def read(words: str) -> tuple[int, int | None] | None:
    """The number in a score that was typed, and out of how many; None where it stays words."""
    found = NUMBER.fullmatch(words)
    if not found:
        return None
    score, of = int(found[1]), int(found[2]) if found[2] else None
    return (score, of) if of is None or 1 <= of >= score else None


def carry_over(apps: Any, schema_editor: Any) -> None:
    """The scores of all reports and of their history; the words are emptied where the number says it all."""
    for name in ("PracticeEntry", "HistoricalPracticeEntry"):
        rows = apps.get_model("drills", name).objects.using(schema_editor.connection.alias)
        typed = rows.exclude(score_words="").order_by("score_words")
        for words in typed.values_list("score_words", flat=True).distinct():
            if found := read(words):
                rows.filter(score_words=words).update(score=found[0], score_of=found[1], score_words="")


def carry_back(apps: Any, schema_editor: Any) -> None:
    """The numbers as words again."""
    for name in ("PracticeEntry", "HistoricalPracticeEntry"):
        rows = apps.get_model("drills", name).objects.using(schema_editor.connection.alias)
        scored = rows.exclude(score=None).order_by("score", "score_of")
        for score, of in scored.values_list("score", "score_of").distinct():
            words = f"{score}" if of is None else f"{score} of {of}"
            rows.filter(score=score, score_of=of).update(score_words=words)


def number(words: str | None = None) -> "models.PositiveSmallIntegerField[Any, Any]":
    """A number that may be missing."""
    return models.PositiveSmallIntegerField(words, blank=True, null=True)


BOTH = ("practiceentry", "historicalpracticeentry")
FELT = [("easy", "Easy"), ("right", "Just right"), ("hard", "Hard")]


class Migration(migrations.Migration):
    dependencies = [("drills", "0006_aims")]

    operations = [
        *(migrations.RenameField(name, "score", "score_words") for name in BOTH),
        *(
            migrations.AlterField(
                name,
                "score_words",
                models.CharField("score, where it is no number", max_length=40, blank=True),
            )
            for name in BOTH
        ),
        *(migrations.AddField(name, "score", number()) for name in BOTH),
        *(migrations.AddField(name, "score_of", number("out of")) for name in BOTH),
        *(
            migrations.AddField(
                name,
                "felt",
                models.CharField("how it felt", max_length=5, choices=FELT, blank=True, default=""),
                preserve_default=False,
            )
            for name in BOTH
        ),
        *(
            migrations.AddField(name, "reported_on", models.DateField("reported on", null=True, blank=True))
            for name in BOTH
        ),
        migrations.RunPython(carry_over, carry_back),
        migrations.AddConstraint(
            "practiceentry",
            models.CheckConstraint(
                name="score_possible",
                condition=models.Q(score_of=None)
                | models.Q(score__isnull=False, score_of__gte=models.F("score"), score_of__gt=0),
            ),
        ),
    ]
