"""The notice that a child can read, and the two templates for managers.

What they must hold: Regulation (EU) 2016/679, Articles 12(1) and 13 (notice), 30(1) (a) to (g), 35(7) (a) to (d).
"""

import re

from django.urls import reverse

from coachbook.rights.export.kinds import KINDS
from tests.crawl import Reader

# Article 13 asks for each of these; a child is to understand it (Article 12(1)).
NOTICE = ("Sedge Hollow", "Why we do it", "Who can read it", "How long we keep it", "save it as a file",
          "put it right", "erased", "Change your mind", "office in your country", "No computer decides")  # fmt: skip
RECORD = ("Who is responsible", "Data protection officer", "Purposes", "People", "Kinds of data", "Who receives it",
          "which country", "How long", "Security")  # fmt: skip
ASSESSMENT = ("1. What is done, and why", "2. Is it needed", "3. What could go wrong", "4. What you do about it")


def text_of(answer) -> str:
    return Reader(answer.content.decode()).text


def test_the_notice_is_for_everybody_and_says_what_it_must(cast, as_) -> None:
    for person in ("student", "guardian", "coach", "manager"):
        text = text_of(as_(person).get(reverse("data_notice")))
        assert not [words for words in NOTICE if words not in text], person


def test_a_twelve_year_old_can_read_the_notice(cast, as_) -> None:
    """Short sentences and few long words: common practice, no source; the limits are ours."""
    text = text_of(as_("student").get(reverse("data_notice")))
    text = text[text.index("This page is for everybody") : text.index("This page is no legal advice")]
    sentences = [len(sentence.split()) for sentence in re.split(r"[.:?]\s", text) if sentence.strip()]
    assert sum(sentences) / len(sentences) < 14 and max(sentences) < 36
    assert not re.findall(r"\b(?:processing|controller|personal data|consent|pursuant|retention)\b", text)


def test_the_templates_hold_the_parts_that_the_regulation_names(cast, as_) -> None:
    for name, parts in (("processing_record", RECORD), ("impact_assessment", ASSESSMENT)):
        text = text_of(as_("manager").get(reverse(name)))
        assert not [words for words in parts if words not in text], name
        assert "no legal advice" in text


def test_the_record_names_every_kind_of_data_about_a_student(cast, as_) -> None:
    text = text_of(as_("manager").get(reverse("processing_record")))
    assert not [kind.title for kind in KINDS if kind.title not in text]


def test_a_student_and_a_manager_find_them(cast, as_) -> None:
    notice = reverse("data_notice").encode()
    assert notice in as_("student").get(reverse("student", args=[cast.student.key])).content
    page = as_("manager").get(reverse("long_gone")).content
    for name in ("data_notice", "processing_record", "impact_assessment"):
        assert reverse(name).encode() in page
