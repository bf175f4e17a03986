"""The stored changes name fields of other models: fields that were renamed there get their new names here."""

from typing import Any

from django.db import migrations

RENAMED = {("drills.PracticeEntry", "struck"): "is_void", ("drills.Ball", "away"): "miss"}


def rename_fields(apps: Any, schema_editor: Any) -> None:
    """Write the new names, so that earlier corrections can still be undone."""
    replace_fields(apps, RENAMED)


def restore_fields(apps: Any, schema_editor: Any) -> None:
    """Write the old names."""
    replace_fields(apps, {(label, new): old for (label, old), new in RENAMED.items()})


def replace_fields(apps: Any, names: dict[tuple[str, str], str]) -> None:
    """Replace the names of fields in the changes of every correction."""
    model = apps.get_model("amends", "Correction")
    for row in model.objects.all():
        changes = [
            {**entry, "field": names.get((entry["model"], entry["field"]), entry["field"])} for entry in row.changes
        ]
        if changes != row.changes:
            model.objects.filter(pk=row.pk).update(changes=changes)


class Migration(migrations.Migration):
    dependencies = [("amends", "0002_correction"), ("drills", "0003_plain_words")]

    operations = [migrations.RunPython(rename_fields, restore_fields)]
