"""The steps that lead to a reading, each by itself: words, phrases, pieces and doses, on both sides of every border."""

from collections.abc import Sequence
from dataclasses import astuple

from lessons.sentence.claims import Claim, joined
from lessons.sentence.confidence import SURE, confidence
from lessons.sentence.cues import find_cues
from lessons.sentence.dose import Amount, find_amounts, without_corrected
from lessons.sentence.lexicon import Lexicon, compile_lexicon, correct_slips
from lessons.sentence.match import Hit, Meaning, PhraseTree, best, fits_equally
from lessons.sentence.pieces import cut
from lessons.sentence.reading import Look
from lessons.sentence.tokens import Token, make_token, stem, tokenise, without_ending
from tests.sentences.scoring import catalogue


def words(text: str) -> list[str]:
    return [token.word for token in tokenise(text)]


# --- Words --------------------------------------------------------------------------------------


def test_the_inflections_of_a_word_share_a_stem() -> None:
    cases = [
        "rush rushes rushed rushing",
        "move moved moves moving",
        "stop stopped stopping stops",
        "hurry hurries hurried hurrying",
        "ball balls",
        "squeeze squeezes squeezed squeezing",
        "roll rolls rolled rolling",
        "live living lived lives",
        "leg legs",
        "free freeing",
        "foot feet",
        "swing swung swings swinging",
        "buzz buzzes buzzing buzzed",
        "cookie cookies",
    ]
    for forms in cases:
        assert len({stem(form) for form in forms.split()}) == 1, forms
        assert len({without_ending(form) for form in forms.split() if form not in "foot feet swung swing"}) <= 1, forms


def test_what_only_looks_like_an_ending_is_part_of_the_word() -> None:
    for word in "string bring king speed gas shed used red going see".split():
        assert without_ending(word) == word
    for word in "his bus across always focus thus red bed".split():
        assert stem(word) == word
    assert [without_ending(word) for word in ("wading", "cubed", "legs")] == ["wad", "cub", "leg"]
    assert [without_ending(word) for word in ("free", "tie", "flies", "bee")] == ["fre", "tie", "fli", "bee"]
    assert [without_ending(word) for word in ("pull", "all", "egg", "bass")] == ["pul", "all", "egg", "bas"]
    assert len({stem(word) for word in ("put", "putt")}) == 2


def test_numbers_in_words_and_digits() -> None:
    said = {"zero": 0, "nineteen": 19, "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "ninety": 90}
    said |= {"hundred": 100, "dozen": 12, "12345": 12345, "7": 7}
    assert {text: make_token(text, 0, 0).number for text in said} == said
    assert make_token("123456", 0, 0).number is None
    assert make_token("third", 0, 0).number is None


def test_tens_and_ones_are_one_number() -> None:
    cases = [
        ("twenty five", [25]),
        ("twenty one", [21]),
        ("ninety nine", [99]),
        ("thirty two", [32]),
        ("forty three", [43]),
        ("fifty six", [56]),
        ("sixty seven", [67]),
        ("twenty zero", [20, 0]),
        ("twenty ten", [20, 10]),
        ("ten five", [10, 5]),
        ("hundred five", [100, 5]),
        ("20 five", [20, 5]),
        ("twenty 5", [20, 5]),
        ("five twenty", [5, 20]),
        ("twenty balls five", [20, None, 5]),
    ]
    for text, numbers in cases:
        found = tokenise(text)
        assert [token.number for token in found] == numbers, text
        assert (found[0].start, found[-1].end) == (0, len(text)), text


def test_signs_and_short_forms() -> None:
    cases = [
        ("a four-beat stroke", "a four beat stroke"),
        ("tempo - good", "tempo - good"),
        ("tempo-", "tempo -"),
        ("-tempo", "- tempo"),
        ("grip/stance", "grip stance"),
        ("10/day", "10 / day"),
        ("10/d", "10 / d"),
        ("3/wk", "3 / week"),
        ("3/week", "3 / week"),
        ("10/dozen", "10 dozen"),
        ("w/ the ladder", "with the ladder"),
        ("3x/wk", "3 x week"),
        ("3x/ wk", "3 x week"),
        ("3pw", "3 per week"),
        ("3 pw", "3 per week"),
        ("pw", "pitching wedge"),
        ("bp good", "ball position good"),
        ("50%", "50 percent"),
        ("grip & tempo + read", "grip and tempo and read"),
        ("grip\ntempo", "grip | tempo"),
        ("1.4 to 1", "to 1"),
        ("he doesn't", "he doesnt"),
        ("doesn’t", "doesnt"),
        ("#grip* @good", "grip good"),
    ]
    for text, expected in cases:
        assert " ".join(words(text)) == expected, text


def test_each_word_stands_where_it_was_written() -> None:
    text = "LH low, 50% &  he's"
    found = tokenise(text)
    assert [text[token.start : token.end] for token in found] == ["LH", "LH", "low", ",", "50", "%", "&", "he's"]


def test_a_right_that_stresses() -> None:
    cases = [
        "right at the flag",
        "looks right at the old flag",
        "looks right at her own flag",
        "right on the line",
        "weight right back",
        "right back",
        "moves right up",
        "aims right back",
        "weight right over the toes",
        "hangs right out there",
        "off to the hole right at the flag",
    ]
    for text in cases:
        assert "fully" in words(text) and "right" not in words(text), text


def test_a_right_that_is_a_side() -> None:
    cases = [
        "right at the old white flag",
        "right at the wall. flag",
        "the right at the flag",
        "to the right back",
        "on right at the flag",
        "her right back foot",
        "aims right out there",
        "starts right over there",
        "goes right past it",
        "is right off line",
        "right of the flag",
        "right",
    ]
    for text in cases:
        assert "fully" not in words(text), text


# --- Phrases ------------------------------------------------------------------------------------


def tree(*phrases: str) -> PhraseTree:
    made = PhraseTree({"no": ["no", "never"], "deny": ["@no", "deny"], "lead": ["left"]}, frozenset({"a", "the"}))
    for phrase in phrases:
        made.add(phrase, Meaning("fault", phrase))
    return made


def meets(phrase: str, text: str) -> bool:
    return bool(tree(phrase).find(tokenise(text)))


def test_a_phrase_is_found() -> None:
    cases = [
        ("peek", "she peeks"),
        ("hat low", "hat low"),
        ("hat low", "hat the a the a the low"),
        ("hat .. low", "hat low"),
        ("hat .. low", "hat one two low"),
        ("hat .. low", "hat , low"),
        ("hat .. ball", "hat one ball"),
        ("hat .. low", "hat is it just so very much of a tad kind the low"),
        ("hat <> low", "low hat"),
        ("hat <> low", "hat low"),
        ("hat very? low", "hat low"),
        ("hat very? low", "hat very low"),
        ("hat/cap low", "cap low"),
        ("=hats low", "hats low"),
        ("@no hat", "never hat"),
        ("@deny hat", "no hat"),
        ("@deny hat", "denies hat"),
        ("{lead} hat", "left hat"),
    ]
    for phrase, text in cases:
        assert meets(phrase, text), phrase


def test_a_phrase_is_not_found() -> None:
    cases = [
        ("hat low", "hat one low"),
        ("hat low", "hat , low"),
        ("hat low", "hat the a the a the a low"),
        ("hat low", "low hat"),
        ("hat .. low", "hat one two three low"),
        ("hat .. low", "hat one , low"),
        ("hat .. low", "hat , one low"),
        ("hat .. low", "hat . low"),
        ("hat .. low", "hat but low"),
        ("hat .. low", "hat ball low"),
        ("hat .. low", "hat is it just so very much of a tad kind the it low"),
        ("hat very? low", "hat one low"),
        ("=hats low", "hat low"),
        ("@no hat", "deny hat"),
        ("{lead} hat", "right hat"),
    ]
    for phrase, text in cases:
        assert not meets(phrase, text), phrase


def test_the_places_of_a_phrase_are_those_of_its_words() -> None:
    [hit] = tree("hat .. low").find(tokenise("his hat one low too"))
    assert (hit.words, hit.start, hit.end, hit.weight) == ((1, 3), 1, 4, 2)
    assert len(tree("hat", "hat low", "low").find(tokenise("hat low"))) == 3
    assert tree("hats low", "=cap").vocabulary() == {"hat", "low", "cap"}
    assert len(tree("hat", "hat").find(tokenise("hat"))) == 1


def hit(kind: str, skill: str, *places: int) -> Hit:
    return Hit(Meaning(kind, f"{kind}-{skill}", skill), places)


def test_of_overlapping_phrases_the_one_of_more_words_is_best() -> None:
    long, short, apart = hit("fault", "a", 0, 1, 2), hit("fault", "b", 2, 3), hit("good", "c", 4)
    assert best([apart, short, long]) == ([long, apart], [])
    topic, fault = hit("topic", "a", 0, 1, 2), hit("fault", "b", 2)
    assert best([topic, fault]) == ([fault], [])
    assert best([hit("topic", "a", 0, 1, 2, 3), fault])[0] == [hit("topic", "a", 0, 1, 2, 3)]
    idiom, drill = hit("idiom", "", 0, 1), hit("drill", "", 1, 2)
    assert best([hit("fault", "a", 1, 2), idiom]) == ([idiom], [])
    assert best([drill, hit("good", "a", 0, 1)])[0] == [hit("good", "a", 0, 1)]
    assert best([hit("topic", "a", 0), hit("follow", "b", 0)])[0] == [hit("follow", "b", 0)]
    assert best([hit("follow", "b", 0), hit("topic", "a", 0, 1, 2)])[0] == [hit("topic", "a", 0, 1, 2)]
    touching = [hit("fault", "a", 0, 1), hit("fault", "b", 2, 3)]
    assert best(touching) == (touching, [])


def test_phrases_that_fit_equally_well_say_nothing() -> None:
    one, other = hit("fault", "a", 0, 1), hit("fault", "b", 1, 2)
    assert best([one, other]) == ([], [one])
    assert fits_equally(one, other) and not fits_equally(one, hit("fault", "a", 1, 2))
    assert not fits_equally(one, hit("fault", "b", 1))
    assert fits_equally(one, hit("good", "b", 1, 2)) and not fits_equally(one, hit("good", "a", 1, 2))
    assert not fits_equally(one, hit("topic", "b", 1, 2)) and not fits_equally(one, hit("drill", "b", 1, 2))
    good = hit("good", "a", 0, 1)
    assert fits_equally(good, hit("good", "b", 0, 1)) and not fits_equally(good, hit("good", "b", 1, 2))
    assert not fits_equally(hit("topic", "a", 0), hit("topic", "b", 0))


def test_how_sure_a_phrase_is_falls_with_what_stands_around_it() -> None:
    assert [confidence(2), confidence(2, 1), confidence(1, 0, 1), confidence(3, 2, 1)] == [1, 4 / 5, 1 / 3, 9 / 13]
    assert confidence(2, between=1) < SURE <= confidence(3, between=2)


# --- Slips of typing ----------------------------------------------------------------------------


def lexicon() -> Lexicon:
    return compile_lexicon(catalogue(), ())


def test_a_slip_is_the_one_word_that_is_near() -> None:
    cases = [
        ("rushse", "rush"),
        ("tepmo", "tempo"),
        ("stnce", "stance"),
        ("tmpo", "tmpo"),  # too short
        ("thump", "thump"),  # another letter makes another word
        ("empo", "empo"),
        ("ladder", "ladder"),
        ("12345", "12345"),
        ("garage", "garage"),
    ]
    for text, meant in cases:
        [found] = correct_slips(tokenise(text), lexicon())
        assert (found.word, found.stem) == (meant, make_token(meant, 0, 0).stem), text
        assert (found.start, found.end) == (0, len(text)), text


# --- Doses --------------------------------------------------------------------------------------


def doses(text: str) -> list[str]:
    """The parts of doses in a text, each with the words that it covers."""
    tokens = tokenise(text)
    return [written(tokens, amount) for amount in find_amounts(tokens, set())]


def written(tokens: Sequence[Token], amount: Amount) -> str:
    covered = " ".join(token.word for token in tokens[amount.start : amount.end])
    return f"{amount.field} {amount.value} {amount.unit or ''}".strip() + f": {covered}"


def test_the_parts_of_a_dose() -> None:
    cases = [
        ("20 balls now", ["amount 20 balls: 20 balls"]),
        ("1 ball now", ["amount 1 balls: 1 ball"]),
        ("do 20 good balls now", ["amount 20 successes: 20 good"]),
        ("20 white balls now", ["amount 20 balls: 20 white balls"]),
        ("20 white new balls now", []),
        ("20 , balls", []),
        ("20 5 balls", ["amount 5 balls: 5 balls"]),
        ("20 feet balls", []),
        ("0 balls", []),
        ("one ball", []),
        ("3 x 10 balls", []),
        ("2 hours now", ["amount 120 minutes: 2 hours"]),
        ("15 minutes now", ["amount 15 minutes: 15 minutes"]),
        ("10 balls in a row now", ["amount 10 successes: 10 balls"]),
        ("10 balls in a bag", ["amount 10 balls: 10 balls"]),
        ("10 in a row now", ["amount 10 successes: 10 in a row"]),
        ("10 in a bag", []),
        ("10 minutes in a row", ["amount 10 minutes: 10 minutes"]),
        ("10 balls holed", ["amount 10 successes: 10 balls"]),
        ("10 balls made", ["amount 10 successes: 10 balls"]),
        ("10 balls without a miss", ["amount 10 successes: 10 balls"]),
        ("10 balls then holed", ["amount 10 balls: 10 balls"]),
        ("5 a day", ["amount 5 balls: 5", "per_week 7: a day"]),
        ("4 a day", ["per_week 7: a day"]),
        ("10 each night", ["amount 10 balls: 10", "per_week 7: each night"]),
        ("10 per day", ["amount 10 balls: 10", "per_week 7: per day"]),
        ("10 every evening", ["amount 10 balls: 10", "per_week 7: every evening"]),
        ("10 of a day", ["per_week 7: a day"]),
        ("10 a bag", []),
        ("daily now", ["per_week 7: daily"]),
        ("weekly now", ["per_week 1: weekly"]),
        ("every second day", []),
        ("each other day", []),
        ("a second day", []),
        ("every day now", ["per_week 7: every day"]),
        ("on weekdays now", ["per_week 5: on weekdays"]),
        ("weekdays now", ["per_week 5: weekdays now"]),
        ("at weekends now", ["per_week 2: at weekends"]),
        ("the weekend", []),
        ("twice a week now", ["per_week 2: twice a week"]),
        ("twice week", ["per_week 2: twice week"]),
        ("3 week", ["days 21: 3 week"]),
        ("3 times week", ["per_week 3: 3 times week"]),
        ("3 a week", ["per_week 3: 3 a week"]),
        ("14 times a week", ["per_week 14: 14 times a week"]),
        ("15 times a week", []),
        ("3 weekly", ["per_week 3: 3 weekly"]),
        ("3 times weekly", ["per_week 3: 3 times weekly"]),
        ("2 times a day", ["per_week 14: 2 times a day"]),
        ("2 times day", []),
        ("2 or times a week", []),
        ("Monday Friday now", ["per_week 2: monday friday"]),
        ("Monday, Wednesday and Friday now", ["per_week 3: monday , wednesday and friday"]),
        ("Monday / Friday", ["per_week 2: monday / friday"]),
        ("Monday now", []),
        ("and Monday", []),
        ("half an hour now", ["amount 30 minutes: half an hour"]),
        ("half a hour now", ["amount 30 minutes: half a hour"]),
        ("half hour now", ["amount 30 minutes: half hour"]),
        ("half of hour", []),
        ("half an old hour", []),
        ("half a foot hour", []),
        ("quarter of an hour now", ["amount 15 minutes: quarter of an hour"]),
        ("quarter hour now", ["amount 15 minutes: quarter hour"]),
        ("quarter of a bag", []),
        ("quarter of a big old hour", []),
        ("2 weeks now", ["days 14: 2 week"]),
        ("a fortnight now", ["days 14: fortnight"]),
        ("10 days now", ["days 10: 10 days"]),
        ("2 days now", ["days 2: 2 days"]),
        ("1 day now", []),
        ("2 nights now", []),
        ("2 evenings now", []),
        ("2 months now", ["days 60: 2 months"]),
        ("a month now", ["days 30: a month"]),
        ("one month now", ["days 30: one month"]),
        ("2 weeks ago", []),
        ("for a week now", ["days 7: a week"]),
        ("with a week", []),
        ("a week", []),
        ("in one week", []),
        ("for one week", ["days 7: one week"]),
        ("day a month", []),
        ("2 bags", []),
        ("until he holes 12 now", ["amount 12 successes: until he holes 12"]),
        ("until 12 are made now", ["amount 12 successes: until 12"]),
        ("until he sees 12", []),
        ("until he holes many", []),
        ("until he really finally holes 12", ["amount 12 successes: until he really finally holes 12"]),
        ("until he really and finally holes 12", []),
        ("until he holes . 12", []),
    ]
    for text, expected in cases:
        assert doses(text) == expected, text


def test_what_was_done_in_the_lesson_is_no_dose() -> None:
    cases = [
        ("after 20 balls", False),
        ("after the 20 balls", False),
        ("after about 20 balls", False),
        ("took him 20 balls", False),
        ("took 20 balls", False),
        ("after that 20 balls", True),
        ("after it the 20 balls", True),
        ("for the 20 balls", True),
        ("20 balls ago", False),
        ("20 balls or so later", True),
        ("20 balls and later", False),
        ("20 minutes of putting", False),
        ("20 minutes of chips", True),
        ("20 minutes for putting", True),
        ("after 3 times a week", True),
    ]
    for text, counts in cases:
        assert bool(doses(text)) is counts, text


def test_words_of_a_phrase_are_no_dose() -> None:
    tokens = tokenise("after 20 balls")
    assert not find_amounts(tokens, {1}) and len(find_amounts(tokens, {0})) == 1


def test_an_amount_that_is_put_right_is_replaced_by_one_of_its_kind() -> None:
    tokens = tokenise("10 minutes daily no 20 minutes")
    amounts = find_amounts(tokens, set())
    assert [amount.value for amount in without_corrected(amounts, [3])] == [7, 20]
    assert [amount.value for amount in without_corrected(amounts, [0])] == [10, 7, 20]
    assert [amount.value for amount in without_corrected(amounts, [6])] == [10, 7, 20]
    assert [amount.value for amount in without_corrected(amounts, [4, 4])] == [7, 20]


# --- Pieces -------------------------------------------------------------------------------------


def pieces(text: str) -> list[str]:
    """The pieces of a text without its phrases: what joins each, and its words."""
    tokens = tokenise(text)
    return [f"{piece.joiner}|{' '.join(piece.words)}" for piece in cut(tokens, [], find_cues(tokens))]


def test_a_text_is_cut_at_signs_and_joining_words() -> None:
    cases = [
        ("one two", [".|one two"]),
        ("one, two", [".|one", ",|two"]),
        ("one. two", [".|one", ".|two"]),
        ("one but two", [".|one", "but|two"]),
        ("one, but two", [".|one", "but|two"]),
        ("one and, two", [".|one", ",|two"]),
        ("one. but two", [".|one", ".|two"]),
        ("one but. two", [".|one", ".|two"]),
        ("but one", [".|one"]),
        ("one, two.", [".|one", ",|two"]),
        ("one ; two", [".|one", ".|two"]),
        ("one by the end two", [".|one by the end two"]),
        ("one and and two", [".|one", "and|two"]),
        (", one", [".|one"]),
        ("one then on two", [".|one then on two"]),
    ]
    for text, expected in cases:
        assert pieces(text) == expected, text


def test_what_is_asked_is_the_question_and_what_stands_before_it_is_not() -> None:
    tokens = tokenise("one, two. three, is he four? five; six! seven")
    asked = [(" ".join(piece.words), piece.asks) for piece in cut(tokens, [], find_cues(tokens))]
    assert [said for said, asks in asked if asks] == ["is he four"]
    tokens = tokenise("one. two, three?")
    asked = [(" ".join(piece.words), piece.asks) for piece in cut(tokens, [], [])]
    assert [said for said, asks in asked if asks] == ["two", "three"]
    ends = [piece.ends_sentence for piece in cut(tokens, [], [])]
    assert ends == [True, False, True]


# --- Claims -------------------------------------------------------------------------------------


def test_the_first_degree_of_a_fault_counts_and_no_good_beside_it() -> None:
    claims = [
        Claim(Look.ARRIVAL, "s", "f", 0, 1),
        Claim(Look.ARRIVAL, "s", None, 1, 2),
        Claim(Look.ARRIVAL, "s", "f", 2, 3, "slight"),
        Claim(Look.ARRIVAL, "s", "f", 3, 4, "clear"),
        Claim(Look.DEPARTURE, "s", None, 4, 5),
        Claim(Look.DEPARTURE, "s", None, 5, 6),
    ]
    found = [astuple(claim) for claim in joined(claims)]
    assert found == [
        (Look.ARRIVAL, "s", "f", 0, 1, "slight"),
        (Look.DEPARTURE, "s", None, 4, 5, "not_graded"),
    ]
