"""What stored rows come to under the new rules, so that nobody loses what they could do without a reason."""

from django.db import migrations
from django.db.models import F


def keep_who_decides(apps, schema_editor):
    """A student without a year who has an account and never had a guardian has decided alone so far, and still does.

    Everybody else without a year is a junior until somebody says otherwise.
    """
    students = apps.get_model("accounts", "Student").objects
    students.filter(birth_year=None, guardianships=None).exclude(user=None).update(age_group="adult")


def record_who_saw_links(apps, schema_editor):
    """Links that still wait were shown to whoever made them; accounts that are open count as properly opened."""
    apps.get_model("accounts", "Invitation").objects.filter(accepted_at=None).update(shown_to=F("invited_by"))


class Migration(migrations.Migration):
    dependencies = [("accounts", "0005_second_person")]

    operations = [
        migrations.RunPython(keep_who_decides, migrations.RunPython.noop),
        migrations.RunPython(record_who_saw_links, migrations.RunPython.noop),
    ]
