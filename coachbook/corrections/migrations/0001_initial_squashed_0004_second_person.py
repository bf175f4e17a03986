"""The tables as they are, in one step for a new database: to make each change in turn takes longer."""

import django.db.models.deletion
import simple_history.models
import uuid
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True
    replaces = [  # a database that has run them all has run this
        ("amends", "0001_initial"),
        ("amends", "0002_correction"),
        ("amends", "0003_renamed_fields"),
        ("amends", "0004_second_person"),
    ]

    dependencies = [
        ("accounts", "0001_initial_squashed_0010_goal_event_phone"),
        ("lessons", "0001_initial_squashed_0014_anyway"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Correction",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("moved", "lesson moved"),
                            ("merged", "duplicate merged"),
                            ("opened", "focus opened again"),
                            ("age", "year of birth, or child or adult, changed"),
                            ("access", "new way into an account"),
                        ],
                        max_length=6,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("summary", models.CharField(max_length=300, verbose_name="what happened")),
                ("changes", models.JSONField(default=list)),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
                ("seen_at", models.DateTimeField(blank=True, null=True, verbose_name="when a manager saw it")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "lesson",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="lessons.lesson",
                    ),
                ),
                (
                    "other_student",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="accounts.student",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="whose account",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrections",
                        to="accounts.student",
                    ),
                ),
                (
                    "undone_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="ApprovalRequest",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("age", "child or adult"),
                            ("merge", "merge of a duplicate"),
                            ("access", "new way into an account"),
                            ("undo", "undoing of a correction"),
                        ],
                        max_length=6,
                    ),
                ),
                ("values", models.JSONField(default=dict)),
                ("facts", models.JSONField(default=dict)),
                ("asked_at", models.DateTimeField()),
                (
                    "takes_effect_at",
                    models.DateTimeField(blank=True, null=True, verbose_name="when it takes effect by itself"),
                ),
                (
                    "outcome",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("approved", "approved"),
                            ("refused", "refused"),
                            ("withdrawn", "withdrawn"),
                            ("elapsed", "took effect by itself"),
                            ("stale", "not made, since the facts had changed"),
                        ],
                        max_length=9,
                    ),
                ),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                ("link_made_at", models.DateTimeField(blank=True, null=True, verbose_name="when the link was made")),
                (
                    "asked_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "decided_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "other_student",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="accounts.student",
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="whose account",
                    ),
                ),
                (
                    "student",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="accounts.student",
                    ),
                ),
                (
                    "correction",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="amends.correction",
                        verbose_name="what is undone",
                    ),
                ),
                (
                    "result",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="approval",
                        to="amends.correction",
                        verbose_name="what it made",
                    ),
                ),
            ],
            options={
                "ordering": ["-asked_at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="HistoricalApprovalRequest",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("age", "child or adult"),
                            ("merge", "merge of a duplicate"),
                            ("access", "new way into an account"),
                            ("undo", "undoing of a correction"),
                        ],
                        max_length=6,
                    ),
                ),
                ("asked_at", models.DateTimeField()),
                (
                    "takes_effect_at",
                    models.DateTimeField(blank=True, null=True, verbose_name="when it takes effect by itself"),
                ),
                (
                    "outcome",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("approved", "approved"),
                            ("refused", "refused"),
                            ("withdrawn", "withdrawn"),
                            ("elapsed", "took effect by itself"),
                            ("stale", "not made, since the facts had changed"),
                        ],
                        max_length=9,
                    ),
                ),
                ("decided_at", models.DateTimeField(blank=True, null=True)),
                ("link_made_at", models.DateTimeField(blank=True, null=True, verbose_name="when the link was made")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
                (
                    "asked_by",
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
                    "correction",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="amends.correction",
                        verbose_name="what is undone",
                    ),
                ),
                (
                    "decided_by",
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
                    "other_student",
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
                    "person",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="whose account",
                    ),
                ),
                (
                    "result",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="amends.correction",
                        verbose_name="what it made",
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
                "verbose_name": "historical approval request",
                "verbose_name_plural": "historical approval requests",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalCorrection",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("key", models.UUIDField(db_index=True, default=uuid.uuid4, editable=False)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("moved", "lesson moved"),
                            ("merged", "duplicate merged"),
                            ("opened", "focus opened again"),
                            ("age", "year of birth, or child or adult, changed"),
                            ("access", "new way into an account"),
                        ],
                        max_length=6,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("summary", models.CharField(max_length=300, verbose_name="what happened")),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
                ("seen_at", models.DateTimeField(blank=True, null=True, verbose_name="when a manager saw it")),
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
                    "other_student",
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
                    "person",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="whose account",
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
                    "undone_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical correction",
                "verbose_name_plural": "historical corrections",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="ApprovalNotice",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("seen_at", models.DateTimeField(blank=True, null=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "request",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="notices", to="amends.approvalrequest"
                    ),
                ),
            ],
            options={
                "constraints": [models.UniqueConstraint(fields=("request", "person"), name="one_notice_a_person")],
            },
        ),
        migrations.AddConstraint(
            model_name="correction",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind__in", ("moved", "merged", "opened", "age", "access"))),
                name="correction_kind_known",
            ),
        ),
        migrations.AddConstraint(
            model_name="correction",
            constraint=models.CheckConstraint(
                condition=models.Q(("student__isnull", False), ("person__isnull", False), _connector="OR"),
                name="correction_of_somebody",
            ),
        ),
        migrations.AddConstraint(
            model_name="correction",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("undone_at", None), ("undone_by", None)),
                    models.Q(("undone_at__isnull", False), ("undone_by__isnull", False)),
                    _connector="OR",
                ),
                name="undone_by_somebody",
            ),
        ),
        migrations.AddIndex(
            model_name="approvalrequest",
            index=models.Index(condition=models.Q(("outcome", "")), fields=["takes_effect_at"], name="approvals_due"),
        ),
        migrations.AddConstraint(
            model_name="approvalrequest",
            constraint=models.UniqueConstraint(
                condition=models.Q(("kind__in", ("age", "merge")), ("outcome", "")),
                fields=("student", "kind"),
                name="one_waiting_change",
            ),
        ),
        migrations.AddConstraint(
            model_name="approvalrequest",
            constraint=models.UniqueConstraint(
                condition=models.Q(("kind", "access"), ("outcome", "")), fields=("person",), name="one_waiting_access"
            ),
        ),
        migrations.AddConstraint(
            model_name="approvalrequest",
            constraint=models.UniqueConstraint(
                condition=models.Q(("kind", "undo"), ("outcome", "")), fields=("correction",), name="one_waiting_undo"
            ),
        ),
        migrations.AddConstraint(
            model_name="approvalrequest",
            constraint=models.CheckConstraint(
                condition=models.Q(("student__isnull", False), ("person__isnull", False), _connector="OR"),
                name="approval_of_somebody",
            ),
        ),
        migrations.AddConstraint(
            model_name="approvalrequest",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("decided_at", None), ("outcome", "")),
                    models.Q(models.Q(("outcome", ""), _negated=True), ("decided_at__isnull", False)),
                    _connector="OR",
                ),
                name="decided_at_some_time",
            ),
        ),
        migrations.AddConstraint(
            model_name="approvalrequest",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("outcome", "approved"), _negated=True),
                    models.Q(("decided_by", models.F("asked_by")), _negated=True),
                    _connector="OR",
                ),
                name="nobody_approves_alone",
            ),
        ),
    ]
