"""Set the age at which students decide alone, where recorded juniors would do so at once."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from coachbook.accounts.models import Academy
from coachbook.accounts.views.academy import AcademyForm


class Command(BaseCommand):
    """`adult_at AGE`: no manager alone does this on the page of the academy."""

    help = "Sets the age at which a student decides alone; guardians of those who are older see their record no more."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which age."""
        parser.add_argument("age", type=int, help="in years")

    def handle(self, *args: Any, age: int, **options: Any) -> None:
        """Store it, within the limits of the page."""
        field: Any = AcademyForm.base_fields["adult_at"]
        if not field.min_value <= age <= field.max_value:
            raise CommandError(f"Type an age from {field.min_value} to {field.max_value}.")
        academy = Academy.current()
        academy.adult_at = age
        academy.save()
        self.stdout.write(f"From now on students decide alone from the year after they reach {age}.")
