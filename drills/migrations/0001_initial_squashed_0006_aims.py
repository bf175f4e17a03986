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
        ("drills", "0001_initial"),
        ("drills", "0002_scored_tests"),
        ("drills", "0003_plain_words"),
        ("drills", "0004_library"),
        ("drills", "0005_order"),
        ("drills", "0006_aims"),
    ]

    dependencies = [
        ("accounts", "0001_initial_squashed_0010_goal_event_phone"),
        ("lessons", "0001_initial_squashed_0014_anyway"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Design",
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
                    "kind",
                    models.CharField(
                        choices=[
                            ("leaves", "measured leaves"),
                            ("gate", "ball gate"),
                            ("counted", "counted putts"),
                            ("ladder", "pace ladder"),
                            ("chips", "proximity"),
                        ],
                        max_length=7,
                        verbose_name="what is noted",
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("purpose", models.CharField(max_length=300)),
                ("setup", models.TextField()),
                ("note", models.CharField(max_length=300, verbose_name="what to note of each ball")),
                ("distances_m", models.JSONField(verbose_name="distances, metres")),
                ("balls", models.PositiveSmallIntegerField(verbose_name="balls from each distance")),
                ("width_m", models.FloatField(blank=True, null=True, verbose_name="width of a gate, metres")),
                (
                    "past_m",
                    models.FloatField(
                        blank=True, null=True, verbose_name="aim: metres past the hole or line, of a zone its middle"
                    ),
                ),
                ("caution", models.CharField(max_length=300)),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merged",
                        to="drills.design",
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
                "ordering": ["area", "position"],
            },
        ),
        migrations.CreateModel(
            name="Drill",
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
                ("name", models.CharField(max_length=60)),
                (
                    "kind",
                    models.CharField(
                        choices=[("feel", "Feel"), ("constraint", "the set-up tells"), ("play", "as in play")],
                        default="feel",
                        max_length=10,
                    ),
                ),
                (
                    "schedule",
                    models.CharField(
                        choices=[("blocked", "the same again"), ("varied", "varied")],
                        default="blocked",
                        max_length=7,
                        verbose_name="from ball to ball",
                    ),
                ),
                ("places", models.JSONField(default=list, verbose_name="where it can be done")),
                ("items", models.JSONField(default=list, verbose_name="what it needs besides")),
                ("minutes", models.PositiveSmallIntegerField(default=10, verbose_name="minutes that it takes")),
                ("drawing", models.JSONField(blank=True, default=dict)),
                ("purpose", models.CharField(max_length=300, verbose_name="what gets better")),
                ("equipment", models.CharField(max_length=200)),
                ("setup", models.TextField()),
                ("steps", models.JSONField()),
                ("feel", models.CharField(max_length=300)),
                ("mark", models.CharField(max_length=300, verbose_name="what counts as done well")),
                ("tip", models.CharField(max_length=300)),
                ("dose_amount", models.PositiveSmallIntegerField()),
                (
                    "dose_unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")],
                        default="minutes",
                        max_length=9,
                    ),
                ),
                ("dose_per_week", models.PositiveSmallIntegerField(default=3)),
                ("dose_days", models.PositiveSmallIntegerField(default=30)),
                ("caution", models.CharField(max_length=400)),
                ("game", models.TextField(blank=True, verbose_name="as a game for a child")),
                ("child_minutes", models.PositiveSmallIntegerField(default=0)),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merged",
                        to="drills.drill",
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
        migrations.CreateModel(
            name="Fit",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("is_first", models.BooleanField(default=False, verbose_name="offered before all others")),
                ("is_wrong", models.BooleanField(default=False, verbose_name="never offered for it")),
                (
                    "drill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="fits", to="drills.drill"
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="fits", to="lessons.fault"
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="drill",
            name="faults",
            field=models.ManyToManyField(related_name="drills", through="drills.Fit", to="lessons.fault"),
        ),
        migrations.CreateModel(
            name="HistoricalDesign",
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
                    "kind",
                    models.CharField(
                        choices=[
                            ("leaves", "measured leaves"),
                            ("gate", "ball gate"),
                            ("counted", "counted putts"),
                            ("ladder", "pace ladder"),
                            ("chips", "proximity"),
                        ],
                        max_length=7,
                        verbose_name="what is noted",
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("purpose", models.CharField(max_length=300)),
                ("setup", models.TextField()),
                ("note", models.CharField(max_length=300, verbose_name="what to note of each ball")),
                ("distances_m", models.JSONField(verbose_name="distances, metres")),
                ("balls", models.PositiveSmallIntegerField(verbose_name="balls from each distance")),
                ("width_m", models.FloatField(blank=True, null=True, verbose_name="width of a gate, metres")),
                (
                    "past_m",
                    models.FloatField(
                        blank=True, null=True, verbose_name="aim: metres past the hole or line, of a zone its middle"
                    ),
                ),
                ("caution", models.CharField(max_length=300)),
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
                        to="drills.design",
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
            ],
            options={
                "verbose_name": "historical design",
                "verbose_name_plural": "historical designs",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalDrill",
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
                ("name", models.CharField(max_length=60)),
                (
                    "kind",
                    models.CharField(
                        choices=[("feel", "Feel"), ("constraint", "the set-up tells"), ("play", "as in play")],
                        default="feel",
                        max_length=10,
                    ),
                ),
                (
                    "schedule",
                    models.CharField(
                        choices=[("blocked", "the same again"), ("varied", "varied")],
                        default="blocked",
                        max_length=7,
                        verbose_name="from ball to ball",
                    ),
                ),
                ("places", models.JSONField(default=list, verbose_name="where it can be done")),
                ("items", models.JSONField(default=list, verbose_name="what it needs besides")),
                ("minutes", models.PositiveSmallIntegerField(default=10, verbose_name="minutes that it takes")),
                ("drawing", models.JSONField(blank=True, default=dict)),
                ("purpose", models.CharField(max_length=300, verbose_name="what gets better")),
                ("equipment", models.CharField(max_length=200)),
                ("setup", models.TextField()),
                ("steps", models.JSONField()),
                ("feel", models.CharField(max_length=300)),
                ("mark", models.CharField(max_length=300, verbose_name="what counts as done well")),
                ("tip", models.CharField(max_length=300)),
                ("dose_amount", models.PositiveSmallIntegerField()),
                (
                    "dose_unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")],
                        default="minutes",
                        max_length=9,
                    ),
                ),
                ("dose_per_week", models.PositiveSmallIntegerField(default=3)),
                ("dose_days", models.PositiveSmallIntegerField(default=30)),
                ("caution", models.CharField(max_length=400)),
                ("game", models.TextField(blank=True, verbose_name="as a game for a child")),
                ("child_minutes", models.PositiveSmallIntegerField(default=0)),
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
                        to="drills.drill",
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
            ],
            options={
                "verbose_name": "historical drill",
                "verbose_name_plural": "historical drills",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFit",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("is_first", models.BooleanField(default=False, verbose_name="offered before all others")),
                ("is_wrong", models.BooleanField(default=False, verbose_name="never offered for it")),
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
            ],
            options={
                "verbose_name": "historical fit",
                "verbose_name_plural": "historical fits",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPrescription",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("feel", models.CharField(blank=True, max_length=300, verbose_name="as agreed in the lesson")),
                ("amount", models.PositiveSmallIntegerField(verbose_name="a session")),
                (
                    "unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")],
                        default="minutes",
                        max_length=9,
                    ),
                ),
                ("per_week", models.PositiveSmallIntegerField(default=3, verbose_name="sessions a week")),
                ("days", models.PositiveSmallIntegerField(default=30)),
                (
                    "mark",
                    models.CharField(
                        blank=True, max_length=200, verbose_name="what counts as done well, for this student"
                    ),
                ),
                ("begins", models.DateField()),
                ("review_on", models.DateField()),
                ("ended_on", models.DateField(blank=True, null=True)),
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
            ],
            options={
                "verbose_name": "historical prescription",
                "verbose_name_plural": "historical prescriptions",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalRound",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("day", models.DateField()),
                ("holes", models.PositiveSmallIntegerField(default=18)),
                ("putts", models.PositiveSmallIntegerField()),
                (
                    "three_putts",
                    models.PositiveSmallIntegerField(default=0, verbose_name="holes with three putts or more"),
                ),
                ("tried", models.PositiveSmallIntegerField(default=0, verbose_name="up-and-downs tried")),
                ("made", models.PositiveSmallIntegerField(default=0, verbose_name="up-and-downs made")),
                ("is_void", models.BooleanField(default=False, verbose_name="undone")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
            ],
            options={
                "verbose_name": "historical round",
                "verbose_name_plural": "historical rounds",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalScoredTest",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                (
                    "moment",
                    models.CharField(
                        choices=[("arrival", "Arrival"), ("departure", "Departure"), ("home", "alone")],
                        default="home",
                        max_length=9,
                    ),
                ),
                ("day", models.DateField()),
                (
                    "side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")], max_length=5, verbose_name="as it was played"
                    ),
                ),
                ("width_m", models.FloatField(blank=True, null=True, verbose_name="width of the gate, metres")),
                ("past_m", models.FloatField(blank=True, null=True, verbose_name="aim: metres past the hole or line")),
                ("step_m", models.FloatField(default=0.9, verbose_name="step of leaves, metres")),
                (
                    "stimp_ft",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        max_digits=3,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(4),
                            django.core.validators.MaxValueValidator(16),
                        ],
                        verbose_name="green speed, stimp in feet",
                    ),
                ),
                (
                    "plan",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="balls from each distance, as they were planned"
                    ),
                ),
                ("done_at", models.DateTimeField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False, verbose_name="undone")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="drills.design",
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
            ],
            options={
                "verbose_name": "historical scored test",
                "verbose_name_plural": "historical scored tests",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalUsualDrill",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("amount", models.PositiveSmallIntegerField()),
                (
                    "unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")], max_length=9
                    ),
                ),
                ("per_week", models.PositiveSmallIntegerField()),
                ("days", models.PositiveSmallIntegerField()),
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
            ],
            options={
                "verbose_name": "historical usual drill",
                "verbose_name_plural": "historical usual drills",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Prescription",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("feel", models.CharField(blank=True, max_length=300, verbose_name="as agreed in the lesson")),
                ("amount", models.PositiveSmallIntegerField(verbose_name="a session")),
                (
                    "unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")],
                        default="minutes",
                        max_length=9,
                    ),
                ),
                ("per_week", models.PositiveSmallIntegerField(default=3, verbose_name="sessions a week")),
                ("days", models.PositiveSmallIntegerField(default=30)),
                (
                    "mark",
                    models.CharField(
                        blank=True, max_length=200, verbose_name="what counts as done well, for this student"
                    ),
                ),
                ("begins", models.DateField()),
                ("review_on", models.DateField()),
                ("ended_on", models.DateField(blank=True, null=True)),
                (
                    "drill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="prescriptions", to="drills.drill"
                    ),
                ),
                (
                    "focus",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="prescriptions", to="lessons.focus"
                    ),
                ),
                (
                    "lesson",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="prescriptions", to="lessons.lesson"
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="prescriptions", to="accounts.student"
                    ),
                ),
            ],
            options={
                "ordering": ["begins", "pk"],
            },
        ),
        migrations.CreateModel(
            name="PracticeEntry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("day", models.DateField()),
                ("amount", models.PositiveSmallIntegerField(verbose_name="how much")),
                ("score", models.CharField(blank=True, max_length=40)),
                ("note", models.CharField(blank=True, max_length=300)),
                (
                    "source",
                    models.CharField(
                        choices=[("student", "Student"), ("guardian", "Guardian")], default="student", max_length=8
                    ),
                ),
                ("is_void", models.BooleanField(default=False, verbose_name="undone")),
                (
                    "prescription",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="entries", to="drills.prescription"
                    ),
                ),
            ],
            options={
                "ordering": ["-day", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="HistoricalPracticeEntry",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                ("day", models.DateField()),
                ("amount", models.PositiveSmallIntegerField(verbose_name="how much")),
                ("score", models.CharField(blank=True, max_length=40)),
                ("note", models.CharField(blank=True, max_length=300)),
                (
                    "source",
                    models.CharField(
                        choices=[("student", "Student"), ("guardian", "Guardian")], default="student", max_length=8
                    ),
                ),
                ("is_void", models.BooleanField(default=False, verbose_name="undone")),
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
                    "prescription",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="drills.prescription",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical practice entry",
                "verbose_name_plural": "historical practice entrys",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Round",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("day", models.DateField()),
                ("holes", models.PositiveSmallIntegerField(default=18)),
                ("putts", models.PositiveSmallIntegerField()),
                (
                    "three_putts",
                    models.PositiveSmallIntegerField(default=0, verbose_name="holes with three putts or more"),
                ),
                ("tried", models.PositiveSmallIntegerField(default=0, verbose_name="up-and-downs tried")),
                ("made", models.PositiveSmallIntegerField(default=0, verbose_name="up-and-downs made")),
                ("is_void", models.BooleanField(default=False, verbose_name="undone")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="rounds", to="accounts.student"
                    ),
                ),
            ],
            options={
                "ordering": ["-day", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="ScoredTest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "moment",
                    models.CharField(
                        choices=[("arrival", "Arrival"), ("departure", "Departure"), ("home", "alone")],
                        default="home",
                        max_length=9,
                    ),
                ),
                ("day", models.DateField()),
                (
                    "side",
                    models.CharField(
                        choices=[("right", "Right"), ("left", "Left")], max_length=5, verbose_name="as it was played"
                    ),
                ),
                ("width_m", models.FloatField(blank=True, null=True, verbose_name="width of the gate, metres")),
                ("past_m", models.FloatField(blank=True, null=True, verbose_name="aim: metres past the hole or line")),
                ("step_m", models.FloatField(default=0.9, verbose_name="step of leaves, metres")),
                (
                    "stimp_ft",
                    models.DecimalField(
                        blank=True,
                        decimal_places=1,
                        max_digits=3,
                        null=True,
                        validators=[
                            django.core.validators.MinValueValidator(4),
                            django.core.validators.MaxValueValidator(16),
                        ],
                        verbose_name="green speed, stimp in feet",
                    ),
                ),
                (
                    "plan",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="balls from each distance, as they were planned"
                    ),
                ),
                ("done_at", models.DateTimeField(blank=True, null=True)),
                ("is_void", models.BooleanField(default=False, verbose_name="undone")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "design",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="scored_tests", to="drills.design"
                    ),
                ),
                (
                    "lesson",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="scored_tests",
                        to="lessons.lesson",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="scored_tests", to="accounts.student"
                    ),
                ),
            ],
            options={
                "ordering": ["-day", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="Ball",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveSmallIntegerField()),
                ("distance_m", models.FloatField()),
                (
                    "result",
                    models.CharField(
                        choices=[
                            ("holed", "Holed"),
                            ("missed", "Missed"),
                            ("through", "through the gate"),
                            ("beside", "beside the gate"),
                        ],
                        max_length=7,
                    ),
                ),
                (
                    "length",
                    models.CharField(
                        blank=True,
                        choices=[("", "not recorded"), ("short", "Short"), ("past", "Past")],
                        default="",
                        max_length=5,
                    ),
                ),
                (
                    "miss",
                    models.CharField(
                        blank=True,
                        choices=[("", "not recorded"), ("push", "Push"), ("pull", "Pull")],
                        default="",
                        max_length=4,
                    ),
                ),
                ("leave_m", models.FloatField(blank=True, null=True, verbose_name="past the hole, short is negative")),
                (
                    "test",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="balls", to="drills.scoredtest"
                    ),
                ),
            ],
            options={
                "ordering": ["number"],
            },
        ),
        migrations.CreateModel(
            name="UsualDrill",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("amount", models.PositiveSmallIntegerField()),
                (
                    "unit",
                    models.CharField(
                        choices=[("minutes", "Minutes"), ("balls", "Balls"), ("successes", "Successes")], max_length=9
                    ),
                ),
                ("per_week", models.PositiveSmallIntegerField()),
                ("days", models.PositiveSmallIntegerField()),
                (
                    "coach",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="usual_drills", to="accounts.coach"
                    ),
                ),
                (
                    "drill",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="usual_for", to="drills.drill"
                    ),
                ),
                (
                    "fault",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="usual_drills", to="lessons.fault"
                    ),
                ),
            ],
            options={
                "ordering": ["fault", "pk"],
            },
        ),
        migrations.AddConstraint(
            model_name="design",
            constraint=models.CheckConstraint(
                condition=models.Q(("area__in", ["putting", "chipping", "pitching", "bunker"])),
                name="design_area_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="design",
            constraint=models.CheckConstraint(
                condition=models.Q(("balls__range", (1, 100))), name="design_balls_possible"
            ),
        ),
        migrations.AddConstraint(
            model_name="design",
            constraint=models.CheckConstraint(
                condition=models.Q(models.Q(("kind", "gate"), _negated=True), ("width_m__gt", 0.0427), _connector="OR"),
                name="a_gate_has_a_width",
            ),
        ),
        migrations.AddConstraint(
            model_name="design",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("past_m", None),
                    models.Q(("past_m__range", (0, 5.0)), models.Q(("kind__in", ("gate", "chips")), _negated=True)),
                    _connector="OR",
                ),
                name="design_aim_possible",
            ),
        ),
        migrations.AddConstraint(
            model_name="fit",
            constraint=models.UniqueConstraint(fields=("drill", "fault"), name="a_fault_once_a_drill"),
        ),
        migrations.AddConstraint(
            model_name="fit",
            constraint=models.CheckConstraint(
                condition=models.Q(("is_first", False), ("is_wrong", False), _connector="OR"),
                name="what_is_wrong_is_not_first",
            ),
        ),
        migrations.AddConstraint(
            model_name="drill",
            constraint=models.CheckConstraint(
                condition=models.Q(("area__in", ["putting", "chipping", "pitching", "bunker"])), name="drill_area_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="drill",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("dose_amount__range", (1, 200)), ("dose_days__range", (1, 365)), ("dose_per_week__range", (1, 7))
                ),
                name="drill_dose_possible",
            ),
        ),
        migrations.AddConstraint(
            model_name="drill",
            constraint=models.CheckConstraint(
                condition=models.Q(("minutes__range", (1, 120))), name="drill_minutes_possible"
            ),
        ),
        migrations.AddConstraint(
            model_name="prescription",
            constraint=models.UniqueConstraint(fields=("lesson", "focus"), name="one_drill_a_focus_a_lesson"),
        ),
        migrations.AddConstraint(
            model_name="prescription",
            constraint=models.CheckConstraint(
                condition=models.Q(("amount__range", (1, 300)), ("days__range", (1, 365)), ("per_week__range", (1, 7))),
                name="dose_possible",
            ),
        ),
        migrations.AddConstraint(
            model_name="prescription",
            constraint=models.CheckConstraint(
                condition=models.Q(("review_on__gte", models.F("begins"))), name="review_after_it_begins"
            ),
        ),
        migrations.AddConstraint(
            model_name="practiceentry",
            constraint=models.CheckConstraint(
                condition=models.Q(("amount__range", (1, 600))), name="practised_possible"
            ),
        ),
        migrations.AddConstraint(
            model_name="round",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("holes__range", (1, 36)),
                    ("made__lte", models.F("tried")),
                    ("putts__lte", 200),
                    ("three_putts__lte", models.F("holes")),
                    ("tried__lte", models.F("holes")),
                ),
                name="round_possible",
            ),
        ),
        migrations.AddConstraint(
            model_name="scoredtest",
            constraint=models.CheckConstraint(
                condition=models.Q(("side__in", ["right", "left"])), name="test_side_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="scoredtest",
            constraint=models.CheckConstraint(condition=models.Q(("step_m__gt", 0)), name="test_step_possible"),
        ),
        migrations.AddConstraint(
            model_name="scoredtest",
            constraint=models.CheckConstraint(
                condition=models.Q(("stimp_ft", None), ("stimp_ft__range", (4, 16)), _connector="OR"),
                name="test_green_possible",
            ),
        ),
        migrations.AddConstraint(
            model_name="scoredtest",
            constraint=models.CheckConstraint(
                condition=models.Q(("moment", "home"), models.Q(("lesson", None), _negated=True), _connector="OR"),
                name="only_a_lesson_has_moments",
            ),
        ),
        migrations.AddConstraint(
            model_name="ball",
            constraint=models.UniqueConstraint(fields=("test", "number"), name="one_ball_a_number"),
        ),
        migrations.AddConstraint(
            model_name="ball",
            constraint=models.CheckConstraint(
                condition=models.Q(("distance_m__gt", 0), ("distance_m__lte", 60)), name="ball_distance_possible"
            ),
        ),
        migrations.AddConstraint(
            model_name="ball",
            constraint=models.CheckConstraint(
                condition=models.Q(("result", "missed"), models.Q(("leave_m", None), ("length", "")), _connector="OR"),
                name="only_a_miss_is_measured",
            ),
        ),
        migrations.AddConstraint(
            model_name="ball",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("leave_m", None),
                    (
                        "leave_m__gte",
                        django.db.models.expressions.CombinedExpression(
                            django.db.models.expressions.CombinedExpression(
                                models.F("distance_m"), "*", models.Value(-1)
                            ),
                            "-",
                            models.Value(1),
                        ),
                    ),
                    _connector="OR",
                ),
                name="a_ball_stops_in_front",
            ),
        ),
        migrations.AddConstraint(
            model_name="usualdrill",
            constraint=models.UniqueConstraint(fields=("coach", "fault"), name="one_usual_drill_a_fault"),
        ),
        migrations.AddConstraint(
            model_name="usualdrill",
            constraint=models.CheckConstraint(
                condition=models.Q(("amount__range", (1, 200)), ("days__range", (1, 365)), ("per_week__range", (1, 7))),
                name="usual_dose_possible",
            ),
        ),
    ]
