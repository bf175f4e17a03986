"""Whether another age changes who decides for a student."""

from datetime import date

from coachbook.accounts.models import Student


def changes_who_decides(before: Student, after: Student, on: date, adult_at: int) -> bool:
    """Whether with another age somebody else decides for a student today, or the student does so sooner than before.

    Of whom no year was ever known and who never had a guardian, any year says when that will be for the first time.
    """
    if before.is_junior(on, adult_at) != after.is_junior(on, adult_at):
        return True
    is_sooner = after.last_year_as_junior(adult_at) < before.last_year_as_junior(adult_at)
    if not (is_sooner and before.is_junior(on, adult_at)):
        return False
    if before.birth_year is not None or before.guardianships.exists():
        return True
    written_before: bool = Student.history.filter(id=before.pk).exclude(birth_year=None).exists()
    return written_before  # and cleared since
