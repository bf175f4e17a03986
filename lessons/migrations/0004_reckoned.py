"""Nothing: what is computed from older lessons is computed by 0005, when its columns have their present names."""

from django.db import migrations


class Migration(migrations.Migration):
    """Kept since databases know its name."""

    dependencies = [("lessons", "0003_progress"), ("accounts", "0003_progress")]
    operations: list[migrations.RunPython] = []
