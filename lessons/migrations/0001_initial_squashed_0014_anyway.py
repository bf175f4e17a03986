"""The tables as they are, in one step for a new database: to make each change in turn takes longer."""

import django.core.validators
import django.db.models.deletion
import django.db.models.expressions
import simple_history.models
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True
    replaces = [  # a database that has run them all has run this
        ("lessons", "0001_initial"),
        ("lessons", "0002_days_and_people"),
        ("lessons", "0003_progress"),
        ("lessons", "0004_reckoned"),
        ("lessons", "0005_plain_words"),
        ("lessons", "0006_readers_named"),
        ("lessons", "0007_unsaved"),
        ("lessons", "0008_phrases"),
        ("lessons", "0009_shared_focus"),
        ("lessons", "0010_measures"),
        ("lessons", "0011_own_words"),
        ("lessons", "0012_library"),
        ("lessons", "0013_order"),
        ("lessons", "0014_anyway"),
    ]

    dependencies = [
        ("accounts", "0001_initial_squashed_0010_goal_event_phone"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Fault",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.SlugField(max_length=60, unique=True)),
                ("position", models.PositiveSmallIntegerField(default=0)),
                ("archived", models.BooleanField(default=False)),
                ("shipped", models.JSONField(default=dict, editable=False)),
                (
                    "offered_at",
                    models.DateTimeField(blank=True, editable=False, null=True, verbose_name="offered to the academy"),
                ),
                (
                    "edition",
                    models.PositiveIntegerField(
                        default=0, editable=False, verbose_name="how often a person changed it"
                    ),
                ),
                ("name", models.CharField(max_length=80, verbose_name="coach's wording")),
                ("goal", models.CharField(max_length=80, verbose_name="student's heading")),
                ("plain", models.CharField(max_length=300, verbose_name="what the student does")),
                ("feel", models.CharField(max_length=300, verbose_name="suggested feel")),
                ("costs", models.JSONField(default=list)),
                ("house_wish", models.BooleanField(default=False, verbose_name="a preference, with no cost")),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merged",
                        to="lessons.fault",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="own_%(class)ss",
                        to="accounts.coach",
                    ),
                ),
            ],
            options={
                "ordering": ["skill__area", "skill__position", "position", "pk"],
            },
        ),
        migrations.CreateModel(
            name="Focus",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("slot", models.PositiveSmallIntegerField()),
                (
                    "kind",
                    models.CharField(choices=[("fix", "work on it"), ("trial", "Trial")], default="fix", max_length=5),
                ),
                (
                    "area",
                    models.CharField(
                        choices=[
                            ("putting", "Putting"),
                            ("chipping", "Chipping"),
                            ("pitching", "Pitching"),
                            ("bunker", "Bunker"),
                        ],
                        max_length=8,
                    ),
                ),
                ("what", models.CharField(blank=True, max_length=200, verbose_name="in your own words")),
                ("feel", models.CharField(blank=True, max_length=300)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="reason for a third")),
                ("decide_on", models.DateField(blank=True, null=True, verbose_name="decision day of a trial")),
                (
                    "decision",
                    models.CharField(
                        blank=True,
                        choices=[("", "not decided"), ("kept", "Kept"), ("dropped", "Dropped")],
                        default="",
                        max_length=7,
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="focuses",
                        to="lessons.fault",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="focuses", to="accounts.student"
                    ),
                ),
            ],
            options={
                "ordering": ["slot"],
            },
        ),
        migrations.CreateModel(
            name="HistoricalPhrase",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("code", models.SlugField(max_length=60, verbose_name="code of the skill, fault or drill")),
                ("words", models.CharField(max_length=60)),
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
            ],
            options={
                "verbose_name": "historical phrase",
                "verbose_name_plural": "historical phrases",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSession",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("starts_at", models.DateTimeField()),
                ("name", models.CharField(blank=True, max_length=60, verbose_name="what a group is called")),
                ("place", models.CharField(blank=True, max_length=80)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("lesson", "Lesson"),
                            ("group", "Group"),
                            ("course", "course walk"),
                            ("clip", "clip sent in"),
                        ],
                        default="lesson",
                        max_length=6,
                    ),
                ),
                (
                    "planned_minutes",
                    models.PositiveSmallIntegerField(
                        default=60, validators=[django.core.validators.MaxValueValidator(600)]
                    ),
                ),
                (
                    "green_speed",
                    models.DecimalField(
                        blank=True, decimal_places=1, max_digits=3, null=True, verbose_name="stimp, feet"
                    ),
                ),
                ("surface", models.CharField(blank=True, max_length=40)),
                ("filmed_on", models.DateField(blank=True, null=True, verbose_name="day on which a clip was filmed")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "coach",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="accounts.coach",
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
            ],
            options={
                "verbose_name": "historical session",
                "verbose_name_plural": "historical sessions",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Lesson",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("putting", models.BooleanField(default=True)),
                ("chipping", models.BooleanField(default=True)),
                ("pitching", models.BooleanField(default=True)),
                ("bunker", models.BooleanField(default=True)),
                (
                    "putting_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="putts from the",
                    ),
                ),
                (
                    "chipping_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="chips from the",
                    ),
                ),
                (
                    "pitching_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="pitches from the",
                    ),
                ),
                (
                    "bunker_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="plays bunkers from the",
                    ),
                ),
                (
                    "attendance",
                    models.CharField(
                        choices=[("kept", "Kept"), ("absent", "did not come")], default="kept", max_length=6
                    ),
                ),
                (
                    "practice_reported",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not asked"),
                            ("none", "none"),
                            ("some", "some"),
                            ("most", "most"),
                            ("all", "all"),
                        ],
                        default="",
                        max_length=4,
                    ),
                ),
                ("keep", models.TextField(blank=True)),
                ("next_time", models.TextField(blank=True, verbose_name="what to look at next time")),
                ("note", models.TextField(blank=True)),
                (
                    "note_reader",
                    models.CharField(
                        choices=[
                            ("coach", "me and the managers"),
                            ("academy", "every coach who teaches them"),
                            ("student", "the student, too"),
                        ],
                        default="coach",
                        max_length=7,
                        verbose_name="who reads the note",
                    ),
                ),
                (
                    "status",
                    models.CharField(
                        choices=[("draft", "Draft"), ("complete", "Complete")], default="draft", max_length=8
                    ),
                ),
                ("completed_at", models.DateTimeField(blank=True, null=True)),
                ("version", models.PositiveIntegerField(default=0, editable=False)),
                ("page", models.CharField(blank=True, editable=False, max_length=36)),
                ("page_count", models.PositiveIntegerField(default=0, editable=False)),
                ("unsaved", models.JSONField(default=dict, editable=False)),
                (
                    "shared_focus",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to="lessons.focus",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lessons", to="accounts.student"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="HistoricalLook",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("arrival", "Arrival"),
                            ("during", "During"),
                            ("departure", "Departure"),
                            ("clip", "Clip"),
                            ("course", "Course"),
                            ("test", "Test"),
                        ],
                        max_length=9,
                    ),
                ),
                ("prompted", models.BooleanField(default=False, verbose_name="after advice")),
                ("means", models.CharField(choices=[("eye", "by eye"), ("film", "Film")], default="eye", max_length=4)),
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
                "verbose_name": "historical look",
                "verbose_name_plural": "historical looks",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFocus",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("slot", models.PositiveSmallIntegerField()),
                (
                    "kind",
                    models.CharField(choices=[("fix", "work on it"), ("trial", "Trial")], default="fix", max_length=5),
                ),
                (
                    "area",
                    models.CharField(
                        choices=[
                            ("putting", "Putting"),
                            ("chipping", "Chipping"),
                            ("pitching", "Pitching"),
                            ("bunker", "Bunker"),
                        ],
                        max_length=8,
                    ),
                ),
                ("what", models.CharField(blank=True, max_length=200, verbose_name="in your own words")),
                ("feel", models.CharField(blank=True, max_length=300)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="reason for a third")),
                ("decide_on", models.DateField(blank=True, null=True, verbose_name="decision day of a trial")),
                (
                    "decision",
                    models.CharField(
                        blank=True,
                        choices=[("", "not decided"), ("kept", "Kept"), ("dropped", "Dropped")],
                        default="",
                        max_length=7,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
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
                    "student",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="accounts.student",
                    ),
                ),
                (
                    "closed_in",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.lesson",
                    ),
                ),
                (
                    "opened_in",
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
                "verbose_name": "historical focus",
                "verbose_name_plural": "historical focuss",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.AddField(
            model_name="focus",
            name="closed_in",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="focuses_closed",
                to="lessons.lesson",
            ),
        ),
        migrations.AddField(
            model_name="focus",
            name="opened_in",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="focuses_opened", to="lessons.lesson"
            ),
        ),
        migrations.CreateModel(
            name="Look",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("arrival", "Arrival"),
                            ("during", "During"),
                            ("departure", "Departure"),
                            ("clip", "Clip"),
                            ("course", "Course"),
                            ("test", "Test"),
                        ],
                        max_length=9,
                    ),
                ),
                ("prompted", models.BooleanField(default=False, verbose_name="after advice")),
                ("means", models.CharField(choices=[("eye", "by eye"), ("film", "Film")], default="eye", max_length=4)),
                (
                    "lesson",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="looks", to="lessons.lesson"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="HistoricalSeenFocus",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "degree",
                    models.CharField(
                        choices=[
                            ("good", "Good"),
                            ("slight", "Slight"),
                            ("clear", "Clear"),
                            ("not_graded", "not good, not graded"),
                        ],
                        max_length=10,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "focus",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.focus",
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
                    "look",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.look",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical seen focus",
                "verbose_name_plural": "historical seen focuss",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="MonthCount",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("month", models.DateField(verbose_name="its first day")),
                ("looked", models.PositiveIntegerField()),
                ("slight", models.PositiveIntegerField(default=0)),
                ("clear", models.PositiveIntegerField(default=0)),
                ("not_graded", models.PositiveIntegerField(default=0)),
                (
                    "coach",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="accounts.coach",
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="lessons.fault",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Observation",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "verdict",
                    models.CharField(
                        choices=[("good", "Good"), ("not_good", "not good"), ("not_graded", "not graded")],
                        max_length=10,
                    ),
                ),
                (
                    "measure",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=6,
                        null=True,
                        verbose_name="what was measured, in the unit of the skill",
                    ),
                ),
                (
                    "measure_words",
                    models.CharField(blank=True, max_length=40, verbose_name="what was measured, in words"),
                ),
                ("words", models.TextField(blank=True)),
                (
                    "reader",
                    models.CharField(
                        choices=[
                            ("coach", "me and the managers"),
                            ("academy", "every coach who teaches them"),
                            ("student", "the student, too"),
                        ],
                        default="coach",
                        max_length=7,
                    ),
                ),
                (
                    "look",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="observations", to="lessons.look"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="HistoricalSeenFault",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "degree",
                    models.CharField(
                        choices=[("slight", "Slight"), ("clear", "Clear"), ("not_graded", "seen, not graded")],
                        default="not_graded",
                        max_length=10,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
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
                    "observation",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.observation",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical seen fault",
                "verbose_name_plural": "historical seen faults",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Outcome",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "verdict",
                    models.CharField(choices=[("held", "Held"), ("partly", "Partly"), ("lost", "Lost")], max_length=6),
                ),
                ("day", models.DateField(verbose_name="of the arrival")),
                ("days", models.PositiveSmallIntegerField(verbose_name="since the change")),
                ("anyway", models.FloatField(null=True, verbose_name="probability that it had looked as good anyway")),
                (
                    "practice_reported",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not asked"),
                            ("none", "none"),
                            ("some", "some"),
                            ("most", "most"),
                            ("all", "all"),
                        ],
                        max_length=4,
                        verbose_name="practice reported at arrival",
                    ),
                ),
                (
                    "before",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to="lessons.lesson"
                    ),
                ),
                (
                    "coach",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="accounts.coach",
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        db_index=False,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="lessons.fault",
                    ),
                ),
                (
                    "lesson",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="outcomes", to="lessons.lesson"
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="outcomes", to="accounts.student"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Phrase",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("code", models.SlugField(max_length=60, verbose_name="code of the skill, fault or drill")),
                ("words", models.CharField(max_length=60)),
            ],
            options={
                "ordering": ["words", "pk"],
                "constraints": [models.UniqueConstraint(fields=("code", "words"), name="a_phrase_once_a_row")],
            },
        ),
        migrations.CreateModel(
            name="SeenFault",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "degree",
                    models.CharField(
                        choices=[("slight", "Slight"), ("clear", "Clear"), ("not_graded", "seen, not graded")],
                        default="not_graded",
                        max_length=10,
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="seen", to="lessons.fault"
                    ),
                ),
                (
                    "observation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="seen_faults",
                        to="lessons.observation",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="SeenFocus",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "degree",
                    models.CharField(
                        choices=[
                            ("good", "Good"),
                            ("slight", "Slight"),
                            ("clear", "Clear"),
                            ("not_graded", "not good, not graded"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "focus",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="seen", to="lessons.focus"
                    ),
                ),
                (
                    "look",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="seen_focuses", to="lessons.look"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Session",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("starts_at", models.DateTimeField()),
                ("name", models.CharField(blank=True, max_length=60, verbose_name="what a group is called")),
                ("place", models.CharField(blank=True, max_length=80)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("lesson", "Lesson"),
                            ("group", "Group"),
                            ("course", "course walk"),
                            ("clip", "clip sent in"),
                        ],
                        default="lesson",
                        max_length=6,
                    ),
                ),
                (
                    "planned_minutes",
                    models.PositiveSmallIntegerField(
                        default=60, validators=[django.core.validators.MaxValueValidator(600)]
                    ),
                ),
                (
                    "green_speed",
                    models.DecimalField(
                        blank=True, decimal_places=1, max_digits=3, null=True, verbose_name="stimp, feet"
                    ),
                ),
                ("surface", models.CharField(blank=True, max_length=40)),
                ("filmed_on", models.DateField(blank=True, null=True, verbose_name="day on which a clip was filmed")),
                (
                    "coach",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="sessions", to="accounts.coach"
                    ),
                ),
            ],
            options={
                "ordering": ["-starts_at"],
            },
        ),
        migrations.AddField(
            model_name="lesson",
            name="session",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="lessons", to="lessons.session"
            ),
        ),
        migrations.CreateModel(
            name="HistoricalLesson",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("putting", models.BooleanField(default=True)),
                ("chipping", models.BooleanField(default=True)),
                ("pitching", models.BooleanField(default=True)),
                ("bunker", models.BooleanField(default=True)),
                (
                    "putting_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="putts from the",
                    ),
                ),
                (
                    "chipping_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="chips from the",
                    ),
                ),
                (
                    "pitching_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="pitches from the",
                    ),
                ),
                (
                    "bunker_side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")],
                        default="right",
                        max_length=5,
                        verbose_name="plays bunkers from the",
                    ),
                ),
                (
                    "attendance",
                    models.CharField(
                        choices=[("kept", "Kept"), ("absent", "did not come")], default="kept", max_length=6
                    ),
                ),
                (
                    "practice_reported",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not asked"),
                            ("none", "none"),
                            ("some", "some"),
                            ("most", "most"),
                            ("all", "all"),
                        ],
                        default="",
                        max_length=4,
                    ),
                ),
                ("keep", models.TextField(blank=True)),
                ("next_time", models.TextField(blank=True, verbose_name="what to look at next time")),
                ("note", models.TextField(blank=True)),
                (
                    "note_reader",
                    models.CharField(
                        choices=[
                            ("coach", "me and the managers"),
                            ("academy", "every coach who teaches them"),
                            ("student", "the student, too"),
                        ],
                        default="coach",
                        max_length=7,
                        verbose_name="who reads the note",
                    ),
                ),
                (
                    "status",
                    models.CharField(
                        choices=[("draft", "Draft"), ("complete", "Complete")], default="draft", max_length=8
                    ),
                ),
                ("completed_at", models.DateTimeField(blank=True, null=True)),
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
                    "shared_focus",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.focus",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="accounts.student",
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
                "verbose_name": "historical lesson",
                "verbose_name_plural": "historical lessons",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Skill",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.SlugField(max_length=60, unique=True)),
                ("position", models.PositiveSmallIntegerField(default=0)),
                ("archived", models.BooleanField(default=False)),
                ("shipped", models.JSONField(default=dict, editable=False)),
                (
                    "offered_at",
                    models.DateTimeField(blank=True, editable=False, null=True, verbose_name="offered to the academy"),
                ),
                (
                    "edition",
                    models.PositiveIntegerField(
                        default=0, editable=False, verbose_name="how often a person changed it"
                    ),
                ),
                (
                    "area",
                    models.CharField(
                        choices=[
                            ("putting", "Putting"),
                            ("chipping", "Chipping"),
                            ("pitching", "Pitching"),
                            ("bunker", "Bunker"),
                        ],
                        max_length=8,
                    ),
                ),
                (
                    "phase",
                    models.CharField(
                        choices=[("setup", "Setup"), ("motion", "Motion"), ("finish", "Finish"), ("mind", "Mind")],
                        max_length=6,
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("look", models.CharField(max_length=300, verbose_name="what to look at")),
                ("goal", models.CharField(max_length=300, verbose_name="what it should be")),
                ("measure", models.CharField(blank=True, max_length=120, verbose_name="what may be measured")),
                (
                    "measure_unit",
                    models.CharField(
                        blank=True, max_length=8, verbose_name="its unit; without one it is kept in words"
                    ),
                ),
                ("measure_low", models.FloatField(blank=True, null=True, verbose_name="below this it is asked about")),
                ("measure_high", models.FloatField(blank=True, null=True, verbose_name="above this it is asked about")),
                (
                    "measure_step",
                    models.FloatField(blank=True, null=True, verbose_name="how finely it can honestly be read"),
                ),
                ("measure_by_eye", models.BooleanField(default=False, verbose_name="a guess by eye")),
                ("measure_usual_low", models.FloatField(blank=True, null=True, verbose_name="the least that is usual")),
                ("measure_usual_high", models.FloatField(blank=True, null=True, verbose_name="the most that is usual")),
                ("house_wish", models.BooleanField(default=False, verbose_name="a preference, with no cost")),
                ("child", models.BooleanField(default=True, verbose_name="a child needs to hear of it")),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merged",
                        to="lessons.skill",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="own_%(class)ss",
                        to="accounts.coach",
                    ),
                ),
            ],
            options={
                "ordering": ["area", "position", "pk"],
            },
        ),
        migrations.AddField(
            model_name="observation",
            name="skill",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="observations", to="lessons.skill"
            ),
        ),
        migrations.CreateModel(
            name="HistoricalSkill",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("code", models.SlugField(max_length=60)),
                ("position", models.PositiveSmallIntegerField(default=0)),
                ("archived", models.BooleanField(default=False)),
                ("shipped", models.JSONField(default=dict, editable=False)),
                (
                    "offered_at",
                    models.DateTimeField(blank=True, editable=False, null=True, verbose_name="offered to the academy"),
                ),
                (
                    "edition",
                    models.PositiveIntegerField(
                        default=0, editable=False, verbose_name="how often a person changed it"
                    ),
                ),
                (
                    "area",
                    models.CharField(
                        choices=[
                            ("putting", "Putting"),
                            ("chipping", "Chipping"),
                            ("pitching", "Pitching"),
                            ("bunker", "Bunker"),
                        ],
                        max_length=8,
                    ),
                ),
                (
                    "phase",
                    models.CharField(
                        choices=[("setup", "Setup"), ("motion", "Motion"), ("finish", "Finish"), ("mind", "Mind")],
                        max_length=6,
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("look", models.CharField(max_length=300, verbose_name="what to look at")),
                ("goal", models.CharField(max_length=300, verbose_name="what it should be")),
                ("measure", models.CharField(blank=True, max_length=120, verbose_name="what may be measured")),
                (
                    "measure_unit",
                    models.CharField(
                        blank=True, max_length=8, verbose_name="its unit; without one it is kept in words"
                    ),
                ),
                ("measure_low", models.FloatField(blank=True, null=True, verbose_name="below this it is asked about")),
                ("measure_high", models.FloatField(blank=True, null=True, verbose_name="above this it is asked about")),
                (
                    "measure_step",
                    models.FloatField(blank=True, null=True, verbose_name="how finely it can honestly be read"),
                ),
                ("measure_by_eye", models.BooleanField(default=False, verbose_name="a guess by eye")),
                ("measure_usual_low", models.FloatField(blank=True, null=True, verbose_name="the least that is usual")),
                ("measure_usual_high", models.FloatField(blank=True, null=True, verbose_name="the most that is usual")),
                ("house_wish", models.BooleanField(default=False, verbose_name="a preference, with no cost")),
                ("child", models.BooleanField(default=True, verbose_name="a child needs to hear of it")),
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
                    "owner",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="accounts.coach",
                    ),
                ),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.skill",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical skill",
                "verbose_name_plural": "historical skills",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalObservation",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "verdict",
                    models.CharField(
                        choices=[("good", "Good"), ("not_good", "not good"), ("not_graded", "not graded")],
                        max_length=10,
                    ),
                ),
                (
                    "measure",
                    models.DecimalField(
                        blank=True,
                        decimal_places=2,
                        max_digits=6,
                        null=True,
                        verbose_name="what was measured, in the unit of the skill",
                    ),
                ),
                (
                    "measure_words",
                    models.CharField(blank=True, max_length=40, verbose_name="what was measured, in words"),
                ),
                ("words", models.TextField(blank=True)),
                (
                    "reader",
                    models.CharField(
                        choices=[
                            ("coach", "me and the managers"),
                            ("academy", "every coach who teaches them"),
                            ("student", "the student, too"),
                        ],
                        default="coach",
                        max_length=7,
                    ),
                ),
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
                    "look",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.look",
                    ),
                ),
                (
                    "skill",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.skill",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical observation",
                "verbose_name_plural": "historical observations",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFault",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("code", models.SlugField(max_length=60)),
                ("position", models.PositiveSmallIntegerField(default=0)),
                ("archived", models.BooleanField(default=False)),
                ("shipped", models.JSONField(default=dict, editable=False)),
                (
                    "offered_at",
                    models.DateTimeField(blank=True, editable=False, null=True, verbose_name="offered to the academy"),
                ),
                (
                    "edition",
                    models.PositiveIntegerField(
                        default=0, editable=False, verbose_name="how often a person changed it"
                    ),
                ),
                ("name", models.CharField(max_length=80, verbose_name="coach's wording")),
                ("goal", models.CharField(max_length=80, verbose_name="student's heading")),
                ("plain", models.CharField(max_length=300, verbose_name="what the student does")),
                ("feel", models.CharField(max_length=300, verbose_name="suggested feel")),
                ("costs", models.JSONField(default=list)),
                ("house_wish", models.BooleanField(default=False, verbose_name="a preference, with no cost")),
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
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.fault",
                    ),
                ),
                (
                    "owner",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="accounts.coach",
                    ),
                ),
                (
                    "skill",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="lessons.skill",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical fault",
                "verbose_name_plural": "historical faults",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.AddField(
            model_name="fault",
            name="skill",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="faults", to="lessons.skill"
            ),
        ),
        migrations.AddConstraint(
            model_name="focus",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("slot__in", (1, 2)),
                    models.Q(("slot", 3), models.Q(("reason", ""), _negated=True)),
                    _connector="OR",
                ),
                name="two_focuses_or_a_reason",
            ),
        ),
        migrations.AddConstraint(
            model_name="focus",
            constraint=models.UniqueConstraint(
                condition=models.Q(("closed_in", None)), fields=("student", "slot"), name="one_open_focus_a_slot"
            ),
        ),
        migrations.AddConstraint(
            model_name="focus",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("fault", None), _negated=True), models.Q(("what", ""), _negated=True), _connector="OR"
                ),
                name="focus_says_what",
            ),
        ),
        migrations.AddConstraint(
            model_name="focus",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("kind", "trial"), _negated=True),
                    models.Q(("decide_on", None), _negated=True),
                    _connector="OR",
                ),
                name="trial_has_a_day",
            ),
        ),
        migrations.AddConstraint(
            model_name="focus",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "trial"), ("decision", ""), _connector="OR"), name="only_a_trial_is_decided"
            ),
        ),
        migrations.AddConstraint(
            model_name="look",
            constraint=models.UniqueConstraint(
                condition=models.Q(("kind__in", ("arrival", "departure"))),
                fields=("lesson", "kind"),
                name="one_arrival_one_departure",
            ),
        ),
        migrations.AddConstraint(
            model_name="look",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "arrival"), ("prompted", True), _negated=True), name="arrival_is_unprompted"
            ),
        ),
        migrations.AddIndex(
            model_name="monthcount",
            index=models.Index(
                fields=["fault", "month", "looked", "slight", "clear", "not_graded"], name="count_by_fault"
            ),
        ),
        migrations.AddConstraint(
            model_name="monthcount",
            constraint=models.UniqueConstraint(
                fields=("coach", "month", "fault"), name="one_count_a_coach_a_month_a_fault"
            ),
        ),
        migrations.AddConstraint(
            model_name="monthcount",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "looked__gte",
                        django.db.models.expressions.CombinedExpression(
                            django.db.models.expressions.CombinedExpression(models.F("slight"), "+", models.F("clear")),
                            "+",
                            models.F("not_graded"),
                        ),
                    )
                ),
                name="no_more_seen_than_looked",
            ),
        ),
        migrations.AddIndex(
            model_name="outcome",
            index=models.Index(
                fields=["day", "coach", "fault", "verdict", "student", "practice_reported", "days", "anyway"],
                name="outcome_by_day",
            ),
        ),
        migrations.AddIndex(
            model_name="outcome",
            index=models.Index(fields=["fault", "student", "verdict", "day"], name="outcome_by_fault"),
        ),
        migrations.AddIndex(
            model_name="outcome",
            index=models.Index(fields=["coach", "student", "verdict", "day"], name="outcome_by_coach"),
        ),
        migrations.AddConstraint(
            model_name="outcome",
            constraint=models.UniqueConstraint(fields=("lesson", "fault"), name="one_outcome_a_fault_a_lesson"),
        ),
        migrations.AddConstraint(
            model_name="outcome",
            constraint=models.CheckConstraint(
                condition=models.Q(("verdict__in", ("held", "partly", "lost"))), name="outcome_verdict_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="outcome",
            constraint=models.CheckConstraint(condition=models.Q(("days__gte", 1)), name="outcome_of_another_day"),
        ),
        migrations.AddConstraint(
            model_name="outcome",
            constraint=models.CheckConstraint(
                condition=models.Q(("anyway", None), ("anyway__range", (0, 1)), _connector="OR"),
                name="outcome_anyway_a_share",
            ),
        ),
        migrations.AddConstraint(
            model_name="seenfault",
            constraint=models.UniqueConstraint(fields=("observation", "fault"), name="a_fault_once_an_observation"),
        ),
        migrations.AddConstraint(
            model_name="seenfocus",
            constraint=models.UniqueConstraint(fields=("look", "focus"), name="a_focus_once_a_look"),
        ),
        migrations.AddConstraint(
            model_name="seenfocus",
            constraint=models.CheckConstraint(
                condition=models.Q(("degree__in", ("good", "slight", "clear", "not_graded"))),
                name="seen_focus_degree_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="lesson",
            constraint=models.UniqueConstraint(fields=("session", "student"), name="one_lesson_a_student_a_session"),
        ),
        migrations.AddConstraint(
            model_name="lesson",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("putting_side__in", ["right", "left"]),
                    ("chipping_side__in", ["right", "left"]),
                    ("pitching_side__in", ["right", "left"]),
                    ("bunker_side__in", ["right", "left"]),
                ),
                name="lesson_sides_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="lesson",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("putting", True), ("chipping", True), ("pitching", True), ("bunker", True), _connector="OR"
                ),
                name="lesson_covers_an_area",
            ),
        ),
        migrations.AddConstraint(
            model_name="lesson",
            constraint=models.CheckConstraint(
                condition=models.Q(("status", "draft"), ("completed_at__isnull", False), _connector="OR"),
                name="complete_since_a_moment",
            ),
        ),
        migrations.AddConstraint(
            model_name="lesson",
            constraint=models.CheckConstraint(
                condition=models.Q(("note_reader__in", ["coach", "academy", "student"])), name="note_reader_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="skill",
            constraint=models.CheckConstraint(
                condition=models.Q(("area__in", ["putting", "chipping", "pitching", "bunker"])), name="skill_area_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="skill",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("measure_unit", ""),
                    models.Q(
                        ("measure_low__lt", models.F("measure_high")),
                        ("measure_step__gt", 0),
                        ("measure_high__isnull", False),
                        ("measure_low__isnull", False),
                        ("measure_step__isnull", False),
                        models.Q(("measure", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="measure_in_a_unit_is_whole",
            ),
        ),
        migrations.AddConstraint(
            model_name="skill",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("measure_usual_high", None), ("measure_usual_low", None)),
                    models.Q(
                        ("measure_usual_high__isnull", False),
                        ("measure_usual_low__isnull", False),
                        ("measure_usual_low__lt", models.F("measure_usual_high")),
                    ),
                    _connector="OR",
                ),
                name="measure_usual_has_two_ends",
            ),
        ),
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.UniqueConstraint(fields=("look", "skill"), name="a_skill_once_a_look"),
        ),
        migrations.AddConstraint(
            model_name="observation",
            constraint=models.CheckConstraint(
                condition=models.Q(("measure", None), ("measure_words", ""), _connector="OR"),
                name="measure_in_number_or_words",
            ),
        ),
    ]
