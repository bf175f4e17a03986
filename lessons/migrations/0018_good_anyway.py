from typing import Any

from django.db import migrations


def recompute(apps: Any, schema_editor: Any) -> None:
    """Compute anew what had looked as good anyway: arrivals that follow a change hardly count towards it now."""
    from lessons.derived import recompute_all

    if apps.get_model("lessons", "Outcome").objects.exists():
        recompute_all()


class Migration(migrations.Migration):
    dependencies = [("lessons", "0017_pairs")]

    operations = [migrations.RunPython(recompute, migrations.RunPython.noop)]
