"""Every word of the reader's lists in a sentence of its own, and pairs of sentences on both sides of a border."""

import ast
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from lessons.sentence import Dose, Kind, Proposal, Reading, read_sentence
from lessons.sentence.scope import REASONS
from tests.sentences.scoring import HERE, ROOT, catalogue

GAP = "_"  # in a sentence: where each of the words stands


@dataclass(frozen=True)
class Row:
    """Sentences that differ in one word of a list, and what is to be proposed from each."""

    list: str  # module.NAME, or module.function for a list without a name
    area: str
    sentence: str
    words: str
    expected: str  # items as `written` writes them, "-" for none

    @property
    def each(self) -> Iterator[tuple[str, str]]:
        """Each word with its sentence."""
        for word in [word.strip() for word in self.words.split("|" if " | " in self.words else None)] or [""]:
            yield word, self.sentence.replace(GAP, word)

    @property
    def items(self) -> list[str]:
        return sorted(item.strip() for item in self.expected.split(";") if item.strip() != "-")


@cache
def table() -> list[Row]:
    """The rows of words.tsv."""
    with (HERE / "words.tsv").open(encoding="utf-8") as lines:
        return [Row(*line.rstrip("\n").split("\t")) for line in lines if line[0] != "#"]


def written(reading: Reading, area: str, *, with_left_out: bool) -> list[str]:
    """What was read, as the table writes it."""
    found = [item(row).replace(f"{area}-", "") for row in reading.proposals]
    keys = {text: key for key, text in reversed(REASONS.items())}
    return sorted([*found, *(f"out {keys[row.reason]}" for row in reading.left_out if with_left_out)])


def item(row: Proposal) -> str:
    when = "after: " if row.look == "departure" else ""
    if row.kind is Kind.GOOD:
        return f"{when}{row.skill} good"
    if row.kind is Kind.FAULT:
        return f"{when}{row.fault}" + (f" {row.degree}" if row.degree != "not_graded" else "")
    if row.kind is Kind.DRILL:
        return f"drill {row.drill}{dose(row.dose or Dose())}"
    return f"{row.kind} {row.skill if row.kind is Kind.KEEP else row.fault}"


def dose(said: Dose) -> str:
    amount = f" {said.amount} {said.unit}" if said.amount else ""
    often = f" {said.per_week} a week" if said.per_week else ""
    return amount + often + (f" for {said.days} days" if said.days else "")


def read(sentence: str, area: str, *, with_left_out: bool = False) -> list[str]:
    """What is read from a sentence about a student who plays an area from the right."""
    areas = area.split("+")
    return written(read_sentence(sentence, areas, {}, catalogue()), areas[0], with_left_out=with_left_out)


# --- The table ----------------------------------------------------------------------------------


def test_each_sentence_is_read_by_the_meaning_of_its_words() -> None:
    wrong = [
        f"{sentence}: {found}, not {row.items}"
        for row in table()
        for _, sentence in row.each
        if (found := read(sentence, row.area, with_left_out="out " in row.expected)) != row.items
    ]
    assert not wrong, "\n".join(wrong)


UNREACHED = {  # words of a list that no sentence of a coach's reaches, or whose sentence is read wrong today
    "areas.OBJECTS": "it him her them he she",  # after "it" a phrase is mostly an order
    "areas.end_with_side": "to",
    "decisions.BARE": "or",
    "dose.read_times": "in",  # "three times in the week" is read as no dose
    "lexicon.SMALL_WORDS": "the a an and of on in at to it for your both every",  # counted out of the names of drills
    "pieces.JOINERS": "or except",  # they say more than that a piece begins
    "pieces.STARTERS": "theyre dont instead",
    "remarks.ANSWERING": "here",
    "remarks.says_more": "in",
    "scope.ends": "past future hedge rare seldom doubt unseen",  # kinds of cues beside words
    "seen.LIMITS": "if",
    "seen.OTHERS": "who want wanted",
    "seen.PLACES": "on off",
    "seen.WEAK_DEGREES": "definite",
    "seen.is_stress": "properly",
    "timing.STROKES": "balls contact chip pitch",
    "tokens.POINTING": "go point line push miss is look drift roll leak set",  # beside these no fault is named so
    "tokens.TARGETS": "string",  # the name of a drill
}


def word_lists(module: Path) -> dict[str, set[str]]:
    """The words of each set and each split text of a module, by the name or the function that holds them."""
    found: dict[str, set[str]] = {}

    def walk(node: ast.AST, name: str) -> None:
        if isinstance(node, ast.FunctionDef):
            name = node.name
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name) and not name:
            name = node.targets[0].id
        found.setdefault(f"{module.stem}.{name}", set()).update(words_of(node))
        for child in ast.iter_child_nodes(node):
            walk(child, name)

    walk(ast.parse(module.read_text(encoding="utf-8")), "")
    return found


def words_of(node: ast.AST) -> list[str]:
    if isinstance(node, ast.Set):
        return [part.value for part in node.elts if isinstance(part, ast.Constant) and isinstance(part.value, str)]
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == "split":
        return str(node.func.value.value).split() if isinstance(node.func.value, ast.Constant) else []
    return []


def test_every_word_of_a_list_stands_in_a_sentence() -> None:
    """A new word brings a sentence; a word that no sentence reaches is named, as long as none does."""
    kinds = {*tomllib.loads((ROOT / "lessons/sentence/words/cues.toml").read_text(encoding="utf-8"))}
    kinds |= {"fault", "good", "topic", "drill", "follow", "lead", "trail", ""}
    missing = {
        name: left
        for module in sorted((ROOT / "lessons/sentence").glob("*.py"))
        for name, words in word_lists(module).items()
        if not words <= kinds and (left := {word for word in words - {""} if not is_said(name, word)})
    }
    assert missing == {name: set(words.split()) for name, words in UNREACHED.items()}


def is_said(name: str, word: str) -> bool:
    """Whether a row of this list holds the word."""
    here = re.compile(rf"(?<!\w){re.escape(word)}(?!\w)")
    sentences = [sentence for row in table() if row.list == name for _, sentence in row.each]
    return any(here.search(sentence.lower().replace("'", "")) for sentence in sentences)


# --- What is quoted -----------------------------------------------------------------------------


def test_a_proposal_quotes_the_words_that_say_it_and_no_others() -> None:
    cases = {
        "so the rushing was less by the end": ["rushing"],
        "he peeks. later the peeking was worse, tempo good": ["peeks", "tempo good", "peeking"],
        "grip is good, keep that": ["grip is good", "keep that"],
        "today his grip is really good": ["grip is really good"],
        "we work on the peeking today": ["peeking", "we work on the peeking today"],
        "nothing wrong with his tempo": ["nothing wrong with his tempo"],
        "tempo, grip and stance width all good": ["stance width all good", "tempo", "grip"],
        "well, recoil: none": ["recoil: none"],
        "he peeks, gone by the end": ["peeks", "gone by the end"],
        "rushes, a bit by the end": ["rushes", "a bit by the end"],
        "squeezes the handle, better later": ["squeezes the handle", "better later"],
        "grip good, tempo too": ["grip good", "tempo too"],
        "ladder twice a week, ten minutes each time": ["ladder"],
    }
    for text, quoted in cases.items():
        found = read_sentence(text, ["putting"], {}, catalogue()).proposals
        assert [text[row.start : row.end] for row in found] == quoted, text


def test_what_is_left_out_is_quoted_too() -> None:
    text = "his brother rushes, last month he peeked, and maybe the grip was too tight"
    found = read_sentence(text, ["putting"], {}, catalogue()).left_out
    assert [text[row.start : row.end] for row in found] == ["rushes", "peeked", "grip was too tight"]
