"""What a password must not be: one that others would try first (ASVS v5.0.0-6.2.4, 6.2.11)."""

import re
from typing import Any

from django.contrib.auth import password_validation
from django.core.exceptions import ValidationError

from coachbook.accounts.models import Academy

# Words of this site, its people and its trade; those of the academy's own name come beside them.
EXPECTED_WORDS = (
    *("academy", "chipping", "coach", "coachbook", "drill", "golf", "green", "guardian", "lesson", "manager"),
    *("password", "pitching", "practice", "putter", "putting", "student"),
)
LETTERS_OF_ONES_OWN = 6
LONGEST_CHECKED = 128  # longer ones are on no list, and looking for repetitions in them takes long


class CommonPasswordValidator(password_validation.CommonPasswordValidator):
    """Refuse a common password, also with digits and signs around it, or written several times."""

    def validate(self, password: str, user: Any = None) -> None:
        """Raise where any of its readings is on Django's list."""
        for reading in readings(password):
            super().validate(reading, user)


def readings(password: str) -> set[str]:
    """The password, what stands between its outer digits and signs, and what it repeats."""
    if len(password) > LONGEST_CHECKED:
        return {password}
    inner = re.sub(r"^[\W\d_]+|[\W\d_]+$", "", password)
    repeated = (re.fullmatch(r"(.+?)\1+", words) for words in (password, inner))
    return {password, inner, *(found[1] for found in repeated if found)}


class ExpectedWordsValidator:
    """Refuse a password of little more than words that anybody would expect here."""

    MESSAGE = "This is little more than words that others would try first. Add words of your own."

    def validate(self, password: str, user: Any = None) -> None:
        """Raise where too few letters are left without the expected words."""
        expected = sorted({*EXPECTED_WORDS, *words_of_the_academy()}, key=len, reverse=True)
        rest, found = re.subn("|".join(map(re.escape, expected)), "", password.casefold())
        if found and len(re.findall(r"[^\W\d_]", rest)) < LETTERS_OF_ONES_OWN:
            raise ValidationError(self.MESSAGE, code="password_expected")

    def get_help_text(self) -> str:
        """The rule, in a sentence."""
        return "Your password needs more than words that others would try first."


def words_of_the_academy() -> list[str]:
    """The words of the academy's name, the short ones left out."""
    name = Academy.objects.values_list("name", flat=True).first() or ""
    return [word for word in re.findall(r"\w+", name.casefold()) if len(word) > 3]
