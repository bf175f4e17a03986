"""The tables as they are, in one step for a new database: to make each change in turn takes longer."""

import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True
    replaces = [  # a database that has run them all has run this
        ("groups", "0001_initial"),
        ("groups", "0002_group_defaults"),
        ("groups", "0003_members"),
    ]

    dependencies = [
        ("drills", "0001_initial_squashed_0006_aims"),
        ("lessons", "0001_initial_squashed_0014_anyway"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="GroupMember",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("skips_focus", models.BooleanField(default=False, verbose_name="skip the focus for everyone")),
                ("adds_drill", models.BooleanField(default=False, verbose_name="give the drill for everyone, too")),
                (
                    "lesson",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE, related_name="group_member", to="lessons.lesson"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="HistoricalGroupDefaults",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("putting", models.BooleanField(default=True)),
                ("chipping", models.BooleanField(default=True)),
                ("pitching", models.BooleanField(default=True)),
                ("bunker", models.BooleanField(default=True)),
                ("keep", models.TextField(blank=True)),
                ("next_time", models.TextField(blank=True, verbose_name="what to look at next time")),
                ("what", models.CharField(blank=True, max_length=200, verbose_name="in the coach's own words")),
                (
                    "area",
                    models.CharField(
                        choices=[
                            ("putting", "Putting"),
                            ("chipping", "Chipping"),
                            ("pitching", "Pitching"),
                            ("bunker", "Bunker"),
                        ],
                        default="putting",
                        max_length=8,
                        verbose_name="area of own words",
                    ),
                ),
                ("feel", models.CharField(blank=True, max_length=300)),
                ("amount", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="a session")),
                (
                    "unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")],
                        default="minutes",
                        max_length=9,
                    ),
                ),
                ("per_week", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="sessions a week")),
                ("days", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "drill",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="drills.drill",
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.fault",
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "session",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.session",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical group defaults",
                "verbose_name_plural": "historical group defaultss",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalGroupMember",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("skips_focus", models.BooleanField(default=False, verbose_name="skip the focus for everyone")),
                ("adds_drill", models.BooleanField(default=False, verbose_name="give the drill for everyone, too")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lesson",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.lesson",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical group member",
                "verbose_name_plural": "historical group members",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="GroupDefaults",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("putting", models.BooleanField(default=True)),
                ("chipping", models.BooleanField(default=True)),
                ("pitching", models.BooleanField(default=True)),
                ("bunker", models.BooleanField(default=True)),
                ("keep", models.TextField(blank=True)),
                ("next_time", models.TextField(blank=True, verbose_name="what to look at next time")),
                ("what", models.CharField(blank=True, max_length=200, verbose_name="in the coach's own words")),
                (
                    "area",
                    models.CharField(
                        choices=[
                            ("putting", "Putting"),
                            ("chipping", "Chipping"),
                            ("pitching", "Pitching"),
                            ("bunker", "Bunker"),
                        ],
                        default="putting",
                        max_length=8,
                        verbose_name="area of own words",
                    ),
                ),
                ("feel", models.CharField(blank=True, max_length=300)),
                ("amount", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="a session")),
                (
                    "unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")],
                        default="minutes",
                        max_length=9,
                    ),
                ),
                ("per_week", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="sessions a week")),
                ("days", models.PositiveSmallIntegerField(blank=True, null=True)),
                (
                    "drill",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="drills.drill",
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="lessons.fault",
                    ),
                ),
                (
                    "session",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="group_defaults", to="lessons.session"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("putting", True), ("chipping", True), ("pitching", True), ("bunker", True), _connector="OR"
                        ),
                        name="group_defaults_covers_an_area",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("area__in", ["putting", "chipping", "pitching", "bunker"])),
                        name="group_defaults_area_known",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("drill", None),
                            models.Q(
                                ("amount__range", (1, 300)), ("days__range", (1, 365)), ("per_week__range", (1, 7))
                            ),
                            _connector="OR",
                        ),
                        name="group_defaults_drill_has_a_dose",
                    ),
                ],
            },
        ),
    ]
