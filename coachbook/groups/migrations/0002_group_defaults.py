"""`ForAll` becomes `GroupDefaults`; its rows and their history stay."""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import Q

AREAS = ("putting", "chipping", "pitching", "bunker")
OLD_NAMES = ("for_all_covers_an_area", "for_all_area_known", "for_all_drill_has_a_dose")
CONSTRAINTS = (
    models.CheckConstraint(
        name="group_defaults_covers_an_area",
        condition=Q(putting=True) | Q(chipping=True) | Q(pitching=True) | Q(bunker=True),
    ),
    models.CheckConstraint(name="group_defaults_area_known", condition=Q(area__in=list(AREAS))),
    models.CheckConstraint(
        name="group_defaults_drill_has_a_dose",
        condition=Q(drill=None) | Q(amount__range=(1, 300), per_week__range=(1, 7), days__range=(1, 365)),
    ),
)


class Migration(migrations.Migration):
    dependencies = [("groups", "0001_initial")]

    operations = [
        *(migrations.RemoveConstraint("ForAll", name) for name in OLD_NAMES),
        migrations.RenameModel("ForAll", "GroupDefaults"),
        migrations.RenameModel("HistoricalForAll", "HistoricalGroupDefaults"),
        migrations.AlterModelOptions(
            "HistoricalGroupDefaults",
            {
                "get_latest_by": ("history_date", "history_id"),
                "ordering": ("-history_date", "-history_id"),
                "verbose_name": "historical group defaults",
                "verbose_name_plural": "historical group defaultss",
            },
        ),
        migrations.AlterField(
            "GroupDefaults",
            "session",
            models.OneToOneField(
                on_delete=django.db.models.deletion.PROTECT, related_name="group_defaults", to="lessons.session"
            ),
        ),
        *(migrations.AddConstraint("GroupDefaults", constraint) for constraint in CONSTRAINTS),
    ]
