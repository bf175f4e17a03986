"""The form that adds words of the academy's own."""

import re
from typing import Any

from django import forms

from coachbook.loop.log.catalogue import CatalogueChoices, CatalogueField
from coachbook.loop.phrases.meant import read_meanings
from lessons.models import Phrase

WORDS = re.compile(r"[^\W\d_]+(?:['’ -][^\W_]+)*")
MOST = 1000  # phrases of an academy's own


class PhraseForm(forms.Form):
    """What is meant, and the words for it."""

    meant = CatalogueField(
        label="Skill, fault or drill", names="meant-names", message="Not in the catalogue. Choose from the list."
    )
    words = forms.CharField(
        min_length=3,
        max_length=60,
        label="How it is said",
        help_text="As somebody would write it: a few words, without a degree such as “a bit”.",
    )

    def __init__(self, *args: Any, catalogue: CatalogueChoices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.names = names_of(catalogue)
        field = self.fields["meant"]
        assert isinstance(field, CatalogueField)
        field.offer(self.names)

    def clean_meant(self) -> str:
        """What is meant has to be said."""
        code: str = self.cleaned_data["meant"]
        if not code:
            raise forms.ValidationError("Choose what is meant.")
        return code

    def clean_words(self) -> str:
        """Words alone, in small letters."""
        words = " ".join(self.cleaned_data["words"].lower().split())
        if not WORDS.fullmatch(words):
            raise forms.ValidationError("Use words only, without signs.")
        return words

    def clean(self) -> dict[str, Any]:
        """Each words once, and not too many of them."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        words = data.get("words")
        if known := words and Phrase.objects.filter(words=words).first():
            code = read_meanings().code_for(known.code)
            self.add_error("words", f"These words stand for “{self.names.get(code, code)}” already.")
        if Phrase.objects.count() >= MOST:
            self.add_error(None, f"There are {MOST} phrases already. Remove some first.")
        return data


def names_of(catalogue: CatalogueChoices) -> dict[str, str]:
    """The names of all skills, faults and drills by their codes."""
    skills = {skill.code: f"{skill.get_area_display()}: {skill}, good" for skill in catalogue.skills}
    drills = {code: f"Drill: {name}" for code, name in catalogue.drill_names.items()}
    return skills | catalogue.fault_names | drills
