from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    """`Amendment` is called `Correction`; every row stays."""

    dependencies = [
        ("accounts", "0004_plain_words"),
        ("amends", "0001_initial"),
        ("lessons", "0005_plain_words"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="amendment", name="amendment_kind_known"),
        migrations.RenameModel(old_name="Amendment", new_name="Correction"),
        migrations.RenameModel(old_name="HistoricalAmendment", new_name="HistoricalCorrection"),
        migrations.RenameField(model_name="correction", old_name="words", new_name="summary"),
        migrations.RenameField(model_name="historicalcorrection", old_name="words", new_name="summary"),
        migrations.AlterModelOptions(
            name="historicalcorrection",
            options={
                "get_latest_by": ("history_date", "history_id"),
                "ordering": ("-history_date", "-history_id"),
                "verbose_name": "historical correction",
                "verbose_name_plural": "historical corrections",
            },
        ),
        migrations.AlterField(
            model_name="correction",
            name="kind",
            field=models.CharField(
                choices=[
                    ("moved", "lesson moved"),
                    ("merged", "duplicate merged"),
                    ("opened", "focus opened again"),
                ],
                max_length=6,
            ),
        ),
        migrations.AlterField(
            model_name="historicalcorrection",
            name="kind",
            field=models.CharField(
                choices=[
                    ("moved", "lesson moved"),
                    ("merged", "duplicate merged"),
                    ("opened", "focus opened again"),
                ],
                max_length=6,
            ),
        ),
        migrations.AlterField(
            model_name="correction",
            name="student",
            field=models.ForeignKey(
                on_delete=models.deletion.PROTECT, related_name="corrections", to="accounts.student"
            ),
        ),
        migrations.AddConstraint(
            model_name="correction",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ("moved", "merged", "opened"))), name="correction_kind_known"
            ),
        ),
    ]
