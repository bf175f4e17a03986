"""Names in the standard terms; every row is kept."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("drills", "0002_scored_tests")]

    operations = [
        migrations.RenameField(model_name="drill", old_name="mistake", new_name="tip"),
        migrations.RenameField(model_name="historicaldrill", old_name="mistake", new_name="tip"),
        migrations.RenameField(model_name="practiceentry", old_name="struck", new_name="is_void"),
        migrations.RenameField(model_name="historicalpracticeentry", old_name="struck", new_name="is_void"),
        migrations.RenameField(model_name="scoredtest", old_name="struck", new_name="is_void"),
        migrations.RenameField(model_name="historicalscoredtest", old_name="struck", new_name="is_void"),
        migrations.RenameField(model_name="round", old_name="struck", new_name="is_void"),
        migrations.RenameField(model_name="historicalround", old_name="struck", new_name="is_void"),
        migrations.RenameField(model_name="ball", old_name="away", new_name="miss"),
        migrations.AlterField(
            model_name="ball",
            name="test",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="balls", to="drills.scoredtest"
            ),
        ),
        migrations.AlterField(
            model_name="drill",
            name="tip",
            field=models.CharField(max_length=300),
        ),
        migrations.AlterField(
            model_name="historicaldrill",
            name="tip",
            field=models.CharField(max_length=300),
        ),
        migrations.AlterField(
            model_name="historicalpracticeentry",
            name="is_void",
            field=models.BooleanField(default=False, verbose_name="undone"),
        ),
        migrations.AlterField(
            model_name="historicalround",
            name="is_void",
            field=models.BooleanField(default=False, verbose_name="undone"),
        ),
        migrations.AlterField(
            model_name="historicalscoredtest",
            name="is_void",
            field=models.BooleanField(default=False, verbose_name="undone"),
        ),
        migrations.AlterField(
            model_name="practiceentry",
            name="is_void",
            field=models.BooleanField(default=False, verbose_name="undone"),
        ),
        migrations.AlterField(
            model_name="round",
            name="is_void",
            field=models.BooleanField(default=False, verbose_name="undone"),
        ),
        migrations.AlterField(
            model_name="scoredtest",
            name="is_void",
            field=models.BooleanField(default=False, verbose_name="undone"),
        ),
        migrations.AlterField(
            model_name="ball",
            name="length",
            field=models.CharField(
                blank=True,
                choices=[("", "not recorded"), ("short", "Short"), ("past", "Past")],
                default="",
                max_length=5,
            ),
        ),
        migrations.AlterField(
            model_name="ball",
            name="miss",
            field=models.CharField(
                blank=True, choices=[("", "not recorded"), ("push", "Push"), ("pull", "Pull")], default="", max_length=4
            ),
        ),
        migrations.AlterField(
            model_name="design",
            name="purpose",
            field=models.CharField(max_length=300),
        ),
        migrations.AlterField(
            model_name="historicaldesign",
            name="purpose",
            field=models.CharField(max_length=300),
        ),
        migrations.AlterField(
            model_name="historicalscoredtest",
            name="step_m",
            field=models.FloatField(default=0.9, verbose_name="step of leaves, metres"),
        ),
        migrations.AlterField(
            model_name="scoredtest",
            name="step_m",
            field=models.FloatField(default=0.9, verbose_name="step of leaves, metres"),
        ),
    ]
