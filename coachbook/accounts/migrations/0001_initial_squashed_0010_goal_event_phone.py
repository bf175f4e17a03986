"""The tables as they are, in one step for a new database: to make each change in turn takes longer."""

import coachbook.accounts.models.academy
import coachbook.accounts.models.people
import django.contrib.auth.validators
import django.db.models.deletion
import django.db.models.functions.text
import django.utils.timezone
import simple_history.models
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True
    replaces = [  # a database that has run them all has run this
        ("accounts", "0001_initial"),
        ("accounts", "0002_days_and_people"),
        ("accounts", "0003_progress"),
        ("accounts", "0004_plain_words"),
        ("accounts", "0005_second_person"),
        ("accounts", "0006_stored_ages_and_links"),
        ("accounts", "0007_cache_entry"),
        ("accounts", "0008_sign_in"),
        ("accounts", "0009_record_views"),
        ("accounts", "0010_goal_event_phone"),
    ]

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="CacheEntry",
            fields=[
                ("cache_key", models.CharField(max_length=255, primary_key=True, serialize=False)),
                ("value", models.TextField()),
                ("expires", models.DateTimeField(db_index=True)),
            ],
        ),
        migrations.CreateModel(
            name="User",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                ("date_joined", models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined")),
                ("name", models.CharField(max_length=120)),
                ("is_manager", models.BooleanField(default=False)),
                ("sessions_ended_at", models.DateTimeField(blank=True, editable=False, null=True)),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "link_seen_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="who else saw the link that opened the account",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            managers=[
                ("objects", coachbook.accounts.models.people.UserManager()),
            ],
        ),
        migrations.CreateModel(
            name="Academy",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(default="Short-game academy", max_length=80)),
                (
                    "time_zone",
                    models.CharField(
                        default="UTC", max_length=60, validators=[coachbook.accounts.models.academy.check_time_zone]
                    ),
                ),
                ("units", models.CharField(choices=[("m", "metres"), ("ft", "feet")], default="m", max_length=2)),
                ("paper", models.CharField(choices=[("A4", "A4"), ("Letter", "Letter")], default="A4", max_length=6)),
                (
                    "adult_at",
                    models.PositiveSmallIntegerField(default=18, verbose_name="age at which a student decides alone"),
                ),
                (
                    "child_until",
                    models.PositiveSmallIntegerField(
                        default=12, verbose_name="age up to which a student gets the child's sheet"
                    ),
                ),
                (
                    "not_seen_days",
                    models.PositiveSmallIntegerField(
                        default=60, verbose_name="days after which a student counts as not seen"
                    ),
                ),
                (
                    "state_new_looks",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="arrivals with a look below which a focus is new"
                    ),
                ),
                (
                    "state_lost",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="changes lost in a row after which it does not hold"
                    ),
                ),
                (
                    "state_holding",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="good arrivals in a row from which it is holding"
                    ),
                ),
                (
                    "state_ready",
                    models.PositiveSmallIntegerField(
                        default=3, verbose_name="good arrivals in a row from which it is ready to close"
                    ),
                ),
                (
                    "state_ready_days",
                    models.PositiveSmallIntegerField(default=28, verbose_name="days that these arrivals span at least"),
                ),
                (
                    "state_returned",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="arrivals with it seen again from which it has returned"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("pk", 1)), name="one_academy"),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state_new_looks__range", (1, 20))),
                            models.Q(("state_lost__range", (1, 20))),
                            models.Q(("state_holding__range", (1, 20))),
                            models.Q(("state_ready__range", (1, 20))),
                            models.Q(("state_returned__range", (1, 20))),
                            ("state_ready__gte", models.F("state_holding")),
                            ("state_ready_days__lte", 365),
                        ),
                        name="states_possible",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="Coach",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "user",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="coach", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="HistoricalAcademy",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("name", models.CharField(default="Short-game academy", max_length=80)),
                (
                    "time_zone",
                    models.CharField(
                        default="UTC", max_length=60, validators=[coachbook.accounts.models.academy.check_time_zone]
                    ),
                ),
                ("units", models.CharField(choices=[("m", "metres"), ("ft", "feet")], default="m", max_length=2)),
                ("paper", models.CharField(choices=[("A4", "A4"), ("Letter", "Letter")], default="A4", max_length=6)),
                (
                    "adult_at",
                    models.PositiveSmallIntegerField(default=18, verbose_name="age at which a student decides alone"),
                ),
                (
                    "child_until",
                    models.PositiveSmallIntegerField(
                        default=12, verbose_name="age up to which a student gets the child's sheet"
                    ),
                ),
                (
                    "not_seen_days",
                    models.PositiveSmallIntegerField(
                        default=60, verbose_name="days after which a student counts as not seen"
                    ),
                ),
                (
                    "state_new_looks",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="arrivals with a look below which a focus is new"
                    ),
                ),
                (
                    "state_lost",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="changes lost in a row after which it does not hold"
                    ),
                ),
                (
                    "state_holding",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="good arrivals in a row from which it is holding"
                    ),
                ),
                (
                    "state_ready",
                    models.PositiveSmallIntegerField(
                        default=3, verbose_name="good arrivals in a row from which it is ready to close"
                    ),
                ),
                (
                    "state_ready_days",
                    models.PositiveSmallIntegerField(default=28, verbose_name="days that these arrivals span at least"),
                ),
                (
                    "state_returned",
                    models.PositiveSmallIntegerField(
                        default=2, verbose_name="arrivals with it seen again from which it has returned"
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
            ],
            options={
                "verbose_name": "historical academy",
                "verbose_name_plural": "historical academys",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalUser",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        db_index=True,
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                ("date_joined", models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined")),
                ("name", models.CharField(max_length=120)),
                ("is_manager", models.BooleanField(default=False)),
                ("sessions_ended_at", models.DateTimeField(blank=True, editable=False, null=True)),
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
                    "link_seen_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="who else saw the link that opened the account",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical user",
                "verbose_name_plural": "historical users",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Invitation",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("token_hash", models.CharField(max_length=64, unique=True)),
                (
                    "code_hash",
                    models.CharField(
                        blank=True, max_length=128, verbose_name="of the one-time code, where one was printed"
                    ),
                ),
                ("expires_at", models.DateTimeField()),
                ("accepted_at", models.DateTimeField(blank=True, null=True)),
                (
                    "invited_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "shown_to",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="who saw its link or code",
                    ),
                ),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="invitations",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="SignInChange",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("password", "Your password was changed"),
                            ("email", "The e-mail address of your account was changed"),
                            ("added", "A second factor was added"),
                            ("removed", "A second factor was removed"),
                            ("reset", "Your second factor was reset by whoever runs the server"),
                        ],
                        max_length=8,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("shown_at", models.DateTimeField(blank=True, null=True)),
                (
                    "user",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="sign_in_changes",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="Student",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
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
                ("name", models.CharField(max_length=120)),
                ("birth_year", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="year of birth")),
                (
                    "age_group",
                    models.CharField(
                        blank=True,
                        choices=[("child", "Child"), ("adult", "Adult")],
                        max_length=5,
                        verbose_name="child or adult",
                    ),
                ),
                (
                    "status",
                    models.CharField(
                        choices=[("active", "Active"), ("left", "has left")], default="active", max_length=6
                    ),
                ),
                (
                    "phone",
                    models.CharField(
                        blank=True,
                        max_length=30,
                        validators=[coachbook.accounts.models.people.check_phone],
                        verbose_name="telephone",
                    ),
                ),
                ("phone_of", models.CharField(blank=True, max_length=40, verbose_name="whose number it is")),
                ("goal", models.CharField(blank=True, max_length=200, verbose_name="what they want to reach")),
                ("event", models.CharField(blank=True, max_length=120, verbose_name="next event")),
                ("event_on", models.DateField(blank=True, null=True, verbose_name="day of the event")),
                ("putting_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip when putting")),
                ("chipping_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip when chipping")),
                ("pitching_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip when pitching")),
                ("bunker_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip in bunkers")),
                (
                    "putter_length",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=4, null=True, verbose_name="putter length, inches"
                    ),
                ),
                (
                    "putter_loft",
                    models.DecimalField(
                        blank=True, decimal_places=1, max_digits=3, null=True, verbose_name="putter loft, degrees"
                    ),
                ),
                (
                    "putter_lie",
                    models.DecimalField(
                        blank=True, decimal_places=1, max_digits=3, null=True, verbose_name="putter lie, degrees"
                    ),
                ),
                (
                    "equipment",
                    models.CharField(blank=True, max_length=120, verbose_name="anything else about their clubs"),
                ),
                (
                    "practice_place",
                    models.CharField(blank=True, max_length=200, verbose_name="where they can practise"),
                ),
                (
                    "practice_minutes",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="minutes a day they can practise"
                    ),
                ),
                (
                    "practice_days",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="days a week they can practise"
                    ),
                ),
                ("limits", models.CharField(blank=True, max_length=200, verbose_name="pain or limits they reported")),
                ("walked_in", models.BooleanField(default=False, editable=False, verbose_name="added as a walk-in")),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merged",
                        to="accounts.student",
                    ),
                ),
                (
                    "user",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="student",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["name", "pk"],
            },
        ),
        migrations.CreateModel(
            name="RecordView",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("page", models.CharField(max_length=40, verbose_name="name of the address")),
                ("day", models.DateField()),
                ("at", models.DateTimeField(verbose_name="when it was first read that day")),
                (
                    "manager",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="record_views", to="accounts.student"
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="Pause",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "reason",
                    models.CharField(
                        choices=[("injury", "Injury"), ("exams", "Exams"), ("winter", "Winter"), ("other", "Other")],
                        default="other",
                        max_length=6,
                    ),
                ),
                ("since", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="pauses", to="accounts.student"
                    ),
                ),
            ],
            options={
                "ordering": ["-since"],
            },
        ),
        migrations.CreateModel(
            name="HistoricalStudent",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
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
                ("name", models.CharField(max_length=120)),
                ("birth_year", models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="year of birth")),
                (
                    "age_group",
                    models.CharField(
                        blank=True,
                        choices=[("child", "Child"), ("adult", "Adult")],
                        max_length=5,
                        verbose_name="child or adult",
                    ),
                ),
                (
                    "status",
                    models.CharField(
                        choices=[("active", "Active"), ("left", "has left")], default="active", max_length=6
                    ),
                ),
                (
                    "phone",
                    models.CharField(
                        blank=True,
                        max_length=30,
                        validators=[coachbook.accounts.models.people.check_phone],
                        verbose_name="telephone",
                    ),
                ),
                ("phone_of", models.CharField(blank=True, max_length=40, verbose_name="whose number it is")),
                ("goal", models.CharField(blank=True, max_length=200, verbose_name="what they want to reach")),
                ("event", models.CharField(blank=True, max_length=120, verbose_name="next event")),
                ("event_on", models.DateField(blank=True, null=True, verbose_name="day of the event")),
                ("putting_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip when putting")),
                ("chipping_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip when chipping")),
                ("pitching_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip when pitching")),
                ("bunker_grip", models.CharField(blank=True, max_length=80, verbose_name="usual grip in bunkers")),
                (
                    "putter_length",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=4, null=True, verbose_name="putter length, inches"
                    ),
                ),
                (
                    "putter_loft",
                    models.DecimalField(
                        blank=True, decimal_places=1, max_digits=3, null=True, verbose_name="putter loft, degrees"
                    ),
                ),
                (
                    "putter_lie",
                    models.DecimalField(
                        blank=True, decimal_places=1, max_digits=3, null=True, verbose_name="putter lie, degrees"
                    ),
                ),
                (
                    "equipment",
                    models.CharField(blank=True, max_length=120, verbose_name="anything else about their clubs"),
                ),
                (
                    "practice_place",
                    models.CharField(blank=True, max_length=200, verbose_name="where they can practise"),
                ),
                (
                    "practice_minutes",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="minutes a day they can practise"
                    ),
                ),
                (
                    "practice_days",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="days a week they can practise"
                    ),
                ),
                ("limits", models.CharField(blank=True, max_length=200, verbose_name="pain or limits they reported")),
                ("walked_in", models.BooleanField(default=False, editable=False, verbose_name="added as a walk-in")),
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
                    "user",
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
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="accounts.student",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical student",
                "verbose_name_plural": "historical students",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPause",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                (
                    "reason",
                    models.CharField(
                        choices=[("injury", "Injury"), ("exams", "Exams"), ("winter", "Winter"), ("other", "Other")],
                        default="other",
                        max_length=6,
                    ),
                ),
                ("since", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
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
                "verbose_name": "historical pause",
                "verbose_name_plural": "historical pauses",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalGuardianship",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "ended_on",
                    models.DateField(blank=True, null=True, verbose_name="the first day on which it no longer holds"),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "guardian",
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
                    "made_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="added by",
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
                "verbose_name": "historical guardianship",
                "verbose_name_plural": "historical guardianships",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalConsent",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "purpose",
                    models.CharField(
                        choices=[
                            ("photos", "taking and keeping pictures"),
                            ("email", "sending e-mail"),
                            ("sharing", "sharing the record with a second coach"),
                        ],
                        max_length=8,
                    ),
                ),
                ("given_at", models.DateTimeField(default=django.utils.timezone.now)),
                ("text_shown", models.TextField()),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "given_by",
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
                "verbose_name": "historical consent",
                "verbose_name_plural": "historical consents",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalCare",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("putting", models.BooleanField(default=True)),
                ("chipping", models.BooleanField(default=True)),
                ("pitching", models.BooleanField(default=True)),
                ("bunker", models.BooleanField(default=True)),
                (
                    "role",
                    models.CharField(
                        choices=[("main", "main"), ("cover", "covering"), ("assistant", "assistant")],
                        default="main",
                        max_length=9,
                    ),
                ),
                ("since", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
                ("note", models.TextField(blank=True, verbose_name="for whoever takes over")),
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
                "verbose_name": "historical care",
                "verbose_name_plural": "historical cares",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Guardianship",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "ended_on",
                    models.DateField(blank=True, null=True, verbose_name="the first day on which it no longer holds"),
                ),
                (
                    "guardian",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="guardianships",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "made_by",
                    models.ForeignKey(
                        blank=True,
                        editable=False,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="added by",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="guardianships", to="accounts.student"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Consent",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "purpose",
                    models.CharField(
                        choices=[
                            ("photos", "taking and keeping pictures"),
                            ("email", "sending e-mail"),
                            ("sharing", "sharing the record with a second coach"),
                        ],
                        max_length=8,
                    ),
                ),
                ("given_at", models.DateTimeField(default=django.utils.timezone.now)),
                ("text_shown", models.TextField()),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                (
                    "given_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="consents", to="accounts.student"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Care",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("putting", models.BooleanField(default=True)),
                ("chipping", models.BooleanField(default=True)),
                ("pitching", models.BooleanField(default=True)),
                ("bunker", models.BooleanField(default=True)),
                (
                    "role",
                    models.CharField(
                        choices=[("main", "main"), ("cover", "covering"), ("assistant", "assistant")],
                        default="main",
                        max_length=9,
                    ),
                ),
                ("since", models.DateField()),
                ("until", models.DateField(blank=True, null=True)),
                ("note", models.TextField(blank=True, verbose_name="for whoever takes over")),
                (
                    "coach",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="cares", to="accounts.coach"
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="cares", to="accounts.student"
                    ),
                ),
            ],
            options={
                "ordering": ["-since"],
            },
        ),
        migrations.AddConstraint(
            model_name="user",
            constraint=models.UniqueConstraint(
                django.db.models.functions.text.Lower("username"), name="one_user_a_username"
            ),
        ),
        migrations.AddConstraint(
            model_name="user",
            constraint=models.UniqueConstraint(
                django.db.models.functions.text.Lower("email"),
                condition=models.Q(("email", ""), _negated=True),
                name="one_user_an_email",
            ),
        ),
        migrations.AddConstraint(
            model_name="student",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("putting_side__in", ["right", "left"]),
                    ("chipping_side__in", ["right", "left"]),
                    ("pitching_side__in", ["right", "left"]),
                    ("bunker_side__in", ["right", "left"]),
                ),
                name="student_sides_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="student",
            constraint=models.CheckConstraint(
                condition=models.Q(("age_group__in", ("", "child", "adult"))), name="age_group_known"
            ),
        ),
        migrations.AddConstraint(
            model_name="student",
            constraint=models.CheckConstraint(
                condition=models.Q(("name", ""), _negated=True), name="student_has_a_name"
            ),
        ),
        migrations.AddConstraint(
            model_name="student",
            constraint=models.CheckConstraint(
                condition=models.Q(("phone_of", ""), models.Q(("phone", ""), _negated=True), _connector="OR"),
                name="owner_of_a_phone",
            ),
        ),
        migrations.AddConstraint(
            model_name="student",
            constraint=models.CheckConstraint(
                condition=models.Q(("event_on", None), models.Q(("event", ""), _negated=True), _connector="OR"),
                name="day_of_an_event",
            ),
        ),
        migrations.AddConstraint(
            model_name="student",
            constraint=models.CheckConstraint(
                condition=models.Q(("merged_into", models.F("id")), _negated=True), name="not_merged_into_itself"
            ),
        ),
        migrations.AddConstraint(
            model_name="recordview",
            constraint=models.UniqueConstraint(
                fields=("manager", "student", "page", "day"), name="one_record_view_a_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="pause",
            constraint=models.CheckConstraint(
                condition=models.Q(("until", None), ("until__gte", models.F("since")), _connector="OR"),
                name="pause_ends_after_it_begins",
            ),
        ),
        migrations.AddConstraint(
            model_name="guardianship",
            constraint=models.UniqueConstraint(fields=("guardian", "student"), name="guardian_once"),
        ),
        migrations.AddConstraint(
            model_name="consent",
            constraint=models.UniqueConstraint(
                condition=models.Q(("withdrawn_at", None)), fields=("student", "purpose"), name="one_standing_consent"
            ),
        ),
        migrations.AddConstraint(
            model_name="consent",
            constraint=models.CheckConstraint(
                condition=models.Q(("text_shown", ""), _negated=True), name="consent_shows_its_text"
            ),
        ),
        migrations.AddConstraint(
            model_name="care",
            constraint=models.CheckConstraint(
                condition=models.Q(("until", None), ("until__gte", models.F("since")), _connector="OR"),
                name="care_ends_after_it_begins",
            ),
        ),
        migrations.AddConstraint(
            model_name="care",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("putting", True), ("chipping", True), ("pitching", True), ("bunker", True), _connector="OR"
                ),
                name="care_covers_an_area",
            ),
        ),
        migrations.AddConstraint(
            model_name="care",
            constraint=models.UniqueConstraint(
                condition=models.Q(("putting", True), ("role", "main"), ("until", None)),
                fields=("student",),
                name="one_main_coach_for_putting",
            ),
        ),
        migrations.AddConstraint(
            model_name="care",
            constraint=models.UniqueConstraint(
                condition=models.Q(("chipping", True), ("role", "main"), ("until", None)),
                fields=("student",),
                name="one_main_coach_for_chipping",
            ),
        ),
        migrations.AddConstraint(
            model_name="care",
            constraint=models.UniqueConstraint(
                condition=models.Q(("pitching", True), ("role", "main"), ("until", None)),
                fields=("student",),
                name="one_main_coach_for_pitching",
            ),
        ),
        migrations.AddConstraint(
            model_name="care",
            constraint=models.UniqueConstraint(
                condition=models.Q(("bunker", True), ("role", "main"), ("until", None)),
                fields=("student",),
                name="one_main_coach_for_bunker",
            ),
        ),
    ]
