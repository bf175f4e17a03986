"""Words of a text: where each stands, what it is short for, and its stem."""

import itertools
import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

LONGEST = 5000  # characters that are read; a box on a page takes no more
WORD = re.compile(r"\d+[.,]\d+|(?P<word>[bB]4\b|\d+|[^\W\d_]+(?:['’][^\W\d_]+)*)|[^\w\s'’]|_")
SENTENCE_ENDS = set(".!?;\n|")
PAUSES = set(",:-–—()/…")
ONWARD = frozenset("back up through under beneath above behind into down over off past out".split())
TARGETS = frozenset("target flag hole pin cup line string money spot top track end".split())
PLANTED = frozenset("heels toes left front back".split())  # "right on the heels", "right on the left foot"
DENYING_VERBS = frozenset("doesnt didnt isnt hasnt dont wasnt".split())
LEADING_IN = frozenset("the to on her his".split())
POINTING = frozenset("aim start go point line push miss is look drift roll leak set".split())

NUMBERS = {
    word: number
    for number, word in enumerate(
        "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
        "seventeen eighteen nineteen twenty".split()
    )
} | {"thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "ninety": 90, "hundred": 100, "dozen": 12}


def by_form(table: dict[str, str]) -> dict[str, str]:
    """The word that each form stands for."""
    return {form: word for word, forms in table.items() for form in forms.split()}


FORMS = tomllib.loads((Path(__file__).parent / "words/forms.toml").read_text(encoding="utf-8"))
SHORT_FOR = by_form(FORMS["short_for"])
IRREGULAR = by_form(FORMS["irregular"])
NO_STEM = frozenset(FORMS["whole"].split())
FILLERS = frozenset(FORMS["fillers"].split())
NOUNS = frozenset(FORMS["nouns"].split())
PARTING = NOUNS | frozenset((FORMS["praise"] + " " + FORMS["directions"]).split())
COMMON = frozenset(FORMS["common"].split())


@dataclass(frozen=True)
class Token:
    """One word or sign: `word` in full and without apostrophes, `stem` its stem, `number` its value if it is one."""

    word: str
    stem: str
    start: int
    end: int
    number: int | None = None

    @property
    def ends_sentence(self) -> bool:
        return self.word in SENTENCE_ENDS

    @property
    def is_sign(self) -> bool:
        return self.word in SENTENCE_ENDS or self.word in PAUSES


@lru_cache(maxsize=4096)
def stem(word: str) -> str:
    """A short form that the inflections of a word share: squeeze, squeezes, squeezing. No word of any language."""
    word = IRREGULAR.get(word, word)
    if word in NO_STEM or len(word) < 4:
        return word
    return without_ending(word)


def without_ending(word: str) -> str:
    """The word without -ing, -ed or -s, a doubled last letter or a last e."""
    short = word
    for ending, least in (("ing", 6), ("ed", 5), ("s", 4)):
        if (
            word.endswith(ending)
            and len(word) >= least
            and has_vowel(cut := word[: -len(ending)])
            and fits(cut, ending)
        ):
            short = cut
            break
    if len(short) > 3 and short.endswith("ie"):
        short = short[:-1]
    if len(short) > 3 and short.endswith("i"):
        return short[:-1] + "y"
    if len(short) > 3 and short.endswith("e"):
        short = short[:-1]
    doubled = len(short) > 3 and short[-1] == short[-2] and short[-1] not in "aeiou"
    return short[:-1] if doubled else short


def fits(cut: str, ending: str) -> bool:
    """Whether what is left can be a word of that ending: not spe+ed, not acros+s."""
    return not (ending == "ed" and cut[-1] in "aeou") and not (ending == "s" and cut[-1] == "s")


def has_vowel(word: str) -> bool:
    """Whether a word has a vowel, so that it can stand alone."""
    return any(letter in "aeiouy" for letter in word)


NOUN_STEMS = frozenset(stem(noun) for noun in NOUNS)
TELLING = frozenset(stem(word) for word in FORMS["telling"].split())
PASSING = frozenset(FORMS["passing"].split())


def as_word(text: str) -> str:
    """A word in small letters, without apostrophes, a short form written out."""
    word = text.lower().replace("'", "").replace("’", "")
    return SHORT_FOR.get(word, word)


def tokenise(text: str) -> list[Token]:
    """The words and signs of a text, up to LONGEST characters; other signs are left out."""
    found = []
    for match in WORD.finditer(as_lines(text[:LONGEST])):
        if match[0] in SENTENCE_ENDS or match[0] in PAUSES:
            found.append(Token(match[0], match[0], *match.span()))
        elif match[0] == "%":
            found.append(Token("percent", "percent", *match.span()))
        elif match[0] == "&" or match[0] == "+":
            found.append(Token("and", "and", *match.span()))
        elif match["word"]:
            found += [
                make_token(word, *match.span()) for word in FORMS["pairs"].get(match[0].lower(), match[0]).split()
            ]
    words = [token for token in found if not is_hyphen(token, text)]
    return joined_numbers([stressed(words, place) for place in range(len(words))])


def same_sentence(tokens: Sequence[Token]) -> Iterator[Token]:
    """The tokens up to the first sign."""
    return itertools.takewhile(lambda token: not token.is_sign, tokens)


def stressed(tokens: list[Token], place: int) -> Token:
    """The token, or "fully" for a "right" that is no side: "right back", "looks right at the target"."""
    token = tokens[place]
    before = tokens[place - 1] if place else None
    after = tokens[place + 1].word if place + 1 < len(tokens) else ""
    following = same_sentence(tokens[place + 2 : place + 5])
    at_target = after in {"at", "on"} and any(word.word in TARGETS for word in following)
    fully = at_target or is_planted(tokens, place) or after in ONWARD
    if token.word != "right" or not fully or (before and before.word in LEADING_IN):
        return token
    if after in {"down", "over", "off", "past", "out"} and before and before.stem in POINTING:
        return token
    return replace(token, word="fully", stem="fully")


def is_planted(tokens: Sequence[Token], place: int) -> bool:
    """Whether "right" says how exactly somebody stands on something: "weight right on the heels"."""
    after = [token.word for token in tokens[place + 1 : place + 4] if token.word not in {"the", "his", "her"}]
    aimed = any(token.stem in POINTING for token in tokens[max(0, place - 1) : place])
    return after[:1] in (["on"], ["at"]) and bool(PLANTED & set(after[1:2])) and not aimed


def as_lines(text: str) -> str:
    """The same length of text: a line's end is a sign, a slash of "w/" and "3x/wk" none, "3pw" three per week."""
    text = re.sub(r"\n", "|", text)
    text = re.sub(r"(?<=\d)(\s?)pw\b", r"\1xw", text)
    return re.sub(r"(?<=\bw)/|(?<=x)/(?=\s*w)", " ", text)


def is_hyphen(token: Token, text: str) -> bool:
    """Whether the sign stands inside a word, as in "four-beat" or "set-up"."""
    around = text[max(0, token.start - 1) : token.start] + text[token.end : token.end + 1]
    per = token.word == "/" and re.match(r"day|d\b|we|wk", text[token.end :].lower())
    return token.word in "-–/" and len(around) == 2 and around.isalnum() and not per


def make_token(text: str, start: int, end: int) -> Token:
    """The token of one word."""
    word = as_word(text)
    number = int(word) if word.isdigit() and len(word) < 6 else NUMBERS.get(word)
    if number is not None:
        return Token(word, str(number), start, end, number)
    return Token(word, stem(word), start, end)


def joined_numbers(tokens: list[Token]) -> list[Token]:
    """Twenty five is one number."""
    joined: list[Token] = []
    for token in tokens:
        before = joined[-1] if joined else None
        if before and tens_and_ones(before, token):
            total = (before.number or 0) + (token.number or 0)
            joined[-1] = Token(str(total), str(total), before.start, token.end, total)
        else:
            joined.append(token)
    return joined


def tens_and_ones(before: Token, token: Token) -> bool:
    """Whether both are words and one number, such as twenty five."""
    if before.number is None or token.number is None or before.word.isdigit() or token.word.isdigit():
        return False
    return before.number in (20, 30, 40, 50, 60, 90) and 1 <= token.number <= 9
