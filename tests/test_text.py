# ruff: noqa: RUF001  (look-alike marks are what is tested)
"""Tokens: which words a text has, of what kind, where they stand, and that nothing is lost."""

from __future__ import annotations

import time
from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from decodable.errors import FaultsError
from decodable.resources import rules_dir
from decodable.text import Kind, Tokens, key_of, load_text_rules, tokenize

RULES = rules_dir() / "text.toml"


def read(tokens: Tokens) -> list[str]:
    """What is read in a text, as it stands."""
    return [tokens.text_of(i) for i in tokens.word_indices().tolist()]


# id, text, what is read (parted by spaces)
WORDS = [
    ("contractions", "I can't, won't; I'll've it's", "I can't won't I'll've it's"),
    ("curly-contractions", "can’t don’t canʼt can‘t", "can’t don’t canʼt can‘t"),
    ("possessives", "Sam's Sam’s cat", "Sam's Sam’s cat"),
    ("cannot-gonna", "cannot gonna wanna dunno im", "cannot gonna wanna dunno im"),
    ("o-clock", "six o'clock o’clock", "six o'clock o’clock"),
    ("rock-n-roll", "rock 'n' roll, rock ’n’ roll, rock'n'roll", "rock 'n' roll rock ’n’ roll rock'n'roll"),
    ("elisions", "'Tis 'twas up to 'em goin' o' ‘em", "'Tis 'twas up to 'em goin' o' ‘em"),
    ("elision-in-quotes", "''Tis so,' 'I see 'em'", "'Tis so I see 'em"),
    ("hyphens", "red-and-white well\u2011known re\u2010run", "red and white well known re run"),
    ("dashes", "went--and—sat – a‒b", "went and sat a b"),
    ("single-quotes", "'Stop' ‘Stop’ 'Stop!' ('Stop')", "Stop Stop Stop Stop"),
    ("double-quotes", '"Stop" “Stop” «Stop» „Stop“', "Stop Stop Stop Stop"),
    ("ellipses", "wait...no…yes. . .", "wait no yes"),
    ("slash", "and/or", "and or"),
    ("no-space-behind-a-mark", "crabs,gulls;cats.Dogs", "crabs gulls cats Dogs"),
    ("underscores", "_very_ __so__ a_b ____", "very so a b"),
    ("stars", "*very* * * *", "very"),
    ("emoji", "Pip \U0001f63a \U0001f469\u200d\U0001f469\u200d\U0001f467 1\ufe0f\u20e3 ❤️ 🇬🇧 sat", "Pip sat"),
    ("emoticons", "Pip :) :-D ;) <3 sat", "Pip sat"),
    ("bullets", "• one ● two ‣ three", "one two three"),
    ("brackets", "(one) [two] {three}", "one two three"),
    ("decoration", "==== ##### ~~~~ $%&!", ""),
    ("stutter", "B-b-but", "B b but"),
    ("drawn-out", "Brrr sooo STOP!", "Brrr sooo STOP"),
    ("units-touching", "10km 5pm 3D", "10km 5pm 3D"),
    ("sums", "2+2=4", "2 + 2 = 4"),
    ("address", "see www.gullpoint.org or pip@gull.com!", "see www.gullpoint.org or pip@gull.com"),
    ("zero-width", "S\u00adam\u200bx cat\u200b", "S\u00adam\u200bx cat\u200b"),
    ("accents", "cafe\u0301 naïve", "cafe\u0301 naïve"),
    ("ligature-full-width", "ﬁsh Ｃａｔ", "ﬁsh Ｃａｔ"),
    ("other-scripts", "Москва हिन्दी שלום 東京", "Москва हिन्दी שלום 東京"),
    ("back-to-back-quotes", "'Yes'--'No'", "Yes No"),
    ("line-ends", "one\ntwo\r\nthree\rfour", "one two three four"),
    ("odd-spaces", "one\u00a0two\u3000three\u2028four", "one two three four"),
    ("nothing", "", ""),
    ("only-space", " \n\t", ""),
]

# Marks behind an s: id, text, what is read
POSSESSIVES = [
    ("before-a-word", "the boys' hats", "the boys' hats"),
    ("curly", "the boys’ hats", "the boys’ hats"),
    ("modifier-letter", "the boysʼ hats", "the boysʼ hats"),
    ("capital-behind", "the boys' Mum", "the boys' Mum"),
    ("at-the-end", "It was the boys'.", "It was the boys'"),
    ("all-capitals", "THE BOYS' HATS", "THE BOYS' HATS"),
    ("in-double-quotes", '"the boys\' hats"', "the boys' hats"),
    ("in-a-quotation", "'I like the dogs' tails,' said Pip.", "I like the dogs' tails said Pip"),
    ("ends-a-quotation", "'I like dogs' he said. 'Do you?'", "I like dogs he said Do you"),
    ("ends-before-a-comma", "'I like dogs', he said.", "I like dogs he said"),
    ("ends-the-text", "'I like dogs'", "I like dogs"),
    ("one-word-quoted", "the 'dogs' sat", "the dogs sat"),
    ("curly-quotation", "‘I like the dogs’ tails,’ said Pip.", "I like the dogs’ tails said Pip"),
    ("curly-quotation-ends", "‘I like dogs’ he said.", "I like dogs he said"),
    ("behind-a-quotation", "'I like dogs' said Tom of the boys' hats.", "I like dogs said Tom of the boys' hats"),
    ("next-paragraph", "'I like dogs\n\nthe boys' hats", "I like dogs the boys' hats"),
]


@pytest.mark.parametrize(
    ("text", "words"), [c[1:] for c in WORDS + POSSESSIVES], ids=[c[0] for c in WORDS + POSSESSIVES]
)
def test_words(text: str, words: str) -> None:
    assert read(tokenize(text)) == words.split()


KINDS = {
    Kind.WORD: "cat STOP STOP's A I O As Us I'm NASA IT MIX MILL BRRR SHH b x É McGull iPad gen CAN'T Abc",
    Kind.NUMERAL: "12 3.5 1,000 1,000,000 10th 1st 3rd 10TH 1980s 1980's '80s £5 $1.50 €3 #1 50% 20° 1/2 ½ 1½ "
    "10:30 10.30pm 3D 2x II IV VIII XII MCMXC VIII's",
    Kind.INITIALISM: "TV TVs TV's U.S. U.S.A. U.S a.m. p.m. UK USA BBC CD PhD B X J. B's ＴＶ",
    Kind.ABBREVIATION: "Mr Mr. MR. Mrs Mrs. Dr. St St. etc etc. e.g. i.e. Prof. km",
    Kind.SYMBOL: "& % + = £ $ € @ ° # × ÷ www.gullpoint.org pip@gull.com http://gull.org",
    Kind.PUNCTUATION: ". , ! ? ; … ... ' \" ( ) - -- — – • :) ☺ == ##",
    Kind.MARKUP: "_ __ * **",
}


@pytest.mark.parametrize(("text", "kind"), [(text, kind) for kind, texts in KINDS.items() for text in texts.split()])
def test_kind(text: str, kind: Kind) -> None:
    (found,) = tokenize(text).types
    assert (found.text, found.kind) == (text, kind)


# text, key
KEYS = [
    ("Sam’s", "sam's"),
    ("canʼt", "can't"),
    ("S\u00adam\u200bx\u2060", "samx"),
    ("cafe\u0301", "caf\u00e9"),
    ("ﬁsh", "fish"),
    ("Ｃａｔ", "cat"),
    ("STOP", "stop"),
    ("Mr.", "mr"),
    ("U.S.", "u.s"),
    ("‘em", "'em"),
    ("हिन्दी", "हिन्दी"),
]


@pytest.mark.parametrize(("text", "key"), KEYS)
def test_key(text: str, key: str) -> None:
    (found,) = tokenize(text).types
    assert (found.text, found.key) == (text, key)


def test_spoken_forms() -> None:
    spoken = {t.text: t.spoken for t in tokenize("Mr. Gull & Dr Fox, etc. £").types if t.spoken}
    assert spoken == {"Mr.": "mister", "&": "and", "Dr": "doctor", "etc.": "et cetera", "£": "pounds"}


# id, text, first words of sentences
SENTENCES = [
    ("stops", "Pip ran. She sat! Did it rain? No.", "Pip She Did No"),
    ("small-letters", "pip ran. she sat.", "pip she"),
    ("abbreviations", "Mr. Gull met Dr. Fox at 5 p.m. on Mon. by St. Ann.", "Mr."),
    ("initials", "A. A. Milne and J. K. Fisher", "A."),
    ("dots", "Wait... no. Wait… Then it rained.", "Wait Wait Then"),
    ("speech-first", '"Stop!" said Pip. "Come here."', "Stop Come"),
    ("speech-second", 'Pip said, "Come here." Then she ran.', "Pip Come Then"),
    ("speech-behind-dash", "She cried--'Come!' and ran.", "She Come"),
    ("quoted-name", 'The boat "Sea Pip" sank.', "The"),
    ("brackets", "Pip ran. (She sat.) It rained.", "Pip She It"),
    ("numerals", "Pip ran. 12 crabs ran.", "Pip 12"),
    ("paragraphs", "Gull Point\n\nby Pip\n\n'and so", "Gull by and"),
    ("line-break", "Gull\nPoint", "Gull"),
    ("pronoun", "It was I. So be it.", "It So"),
]


@pytest.mark.parametrize(("text", "first"), [c[1:] for c in SENTENCES], ids=[c[0] for c in SENTENCES])
def test_sentence_starts(text: str, first: str) -> None:
    tokens = tokenize(text)
    starts = np.flatnonzero(tokens.sentence_start).tolist()
    assert [tokens.text_of(i) for i in starts] == first.split()
    assert len(tokens.sentences()) == len(starts)


def test_sentences_take_their_opening_marks() -> None:
    text = 'Pip ran. "Stop!" said Tom, "(Come here)."\n\nEnd'
    tokens = tokenize(text)
    found = [text[tokens.start[a] : tokens.end[b - 1]] for a, b in tokens.sentences().tolist()]
    assert found == ["Pip ran. ", '"Stop!" said Tom, ', '"(Come here)."\n\n', "End"]


GULL_POINT = (
    "Pip the cat sat on the sea wall at Gull Point. The ferry didn't come till 9.30 a.m., so she\n"
    "watched three crabs. \"Don't nip me!\" said Mr. Fisher to the crabs' leader.\n\n"
    "A red-and-white lighthouse stood by. The children’s boat cost £5 & a bun – what fun! On TV\n"
    "it's never so well lit …\n"
)


def test_counts_of_a_page() -> None:
    tokens = tokenize(GULL_POINT)
    kinds = Counter(Kind(kind) for kind in tokens.kind.tolist() if kind != Kind.SPACE)
    assert kinds == {
        Kind.WORD: 51,
        Kind.NUMERAL: 2,
        Kind.INITIALISM: 2,
        Kind.ABBREVIATION: 1,
        Kind.SYMBOL: 1,
        Kind.PUNCTUATION: 13,
    }
    assert len(tokens.word_indices()) == 57
    assert len(tokens.blocks) == 2
    assert len(tokens.sentences()) == 6
    keys = Counter(tokens.types[i].key for i in tokens.type_id.tolist() if i >= 0)
    assert (keys["the"], keys["a"], keys["crabs'"], keys["children's"]) == (5, 2, 1, 1)
    capitals = [tokens.text_of(i) for i in np.flatnonzero(tokens.capital).tolist()]
    assert " ".join(capitals) == "Pip Gull Point The Don't Mr. Fisher A The On TV"


# id, Markdown, what is read as it stands in the source
MARKDOWN = [
    ("emphasis-inside", "S**a**m sat", ["S**a**m", "sat"]),
    ("emphasis-around", "**Sam** *sat*.", ["Sam", "sat"]),
    ("entity", "caf&eacute; &amp; bun", ["caf&eacute;", "&amp;", "bun"]),
    ("apostrophe-entity", "can&#39;t", ["can&#39;t"]),
    ("link", "[the ferry](x) left", ["the", "ferry", "left"]),
    ("code", "a `cat` b", ["a", "b"]),
    ("blocks-part-words", "|a|b|\n|-|-|\n# c\nd", ["a", "b", "c", "d"]),
    ("comment-inside", "cat<!-- -->s", ["cat<!-- -->s"]),
    ("possessive", "the *boys*' hats", ["the", "boys*'", "hats"]),
    ("front-matter", "---\nwords: x\n---\ncat", ["cat"]),
    ("quote-mark-at-the-end-of-a-cell", "|'dogs'|cats'|\n|-|-|", ["dogs", "cats'"]),
]


@pytest.mark.parametrize(("text", "words"), [c[1:] for c in MARKDOWN], ids=[c[0] for c in MARKDOWN])
def test_markdown(text: str, words: list[str]) -> None:
    assert read(tokenize(text, markdown=True)) == words


def test_markdown_blocks_and_markup() -> None:
    text = "# Gull *Point*\n\n- Pip sat\n  on `x` it\n"
    tokens = tokenize(text, markdown=True)
    blocks = [(b.kind, b.level, text[b.start : b.end]) for b in tokens.blocks]
    assert blocks == [("heading", 1, "Gull *Point"), ("list", 1, "Pip sat\n  on `x` it")]
    markup = [tokens.text_of(i) for i in np.flatnonzero(tokens.kind == Kind.MARKUP).tolist()]
    assert markup == ["# ", " *", "*\n\n- ", " `x` "]
    words = tokens.word_indices()
    assert tokens.block[words].tolist() == [0, 0, 1, 1, 1, 1]
    assert np.flatnonzero(tokens.sentence_start[words]).tolist() == [0, 2]


def test_lines_and_columns() -> None:
    tokens = tokenize("one two\r\nthree\rfour\n\n  \U0001f63a five")
    words = tokens.word_indices()
    assert tokens.lines_columns(words).tolist() == [[1, 1], [1, 5], [2, 1], [3, 1], [5, 5]]
    assert tokens.line_column(int(words[-1])) == (5, 5)


def test_doc_parts_make_a_doc() -> None:
    import spacy
    from spacy.tokens import Doc

    text = "Pip _can't_ sit. \"The\nboys' hats!\""
    tokens = tokenize(text)
    vocab = spacy.blank("en").vocab
    parts = []
    for first, last in tokens.sentences().tolist():
        words, spaces, indices = tokens.doc_parts(first, last)
        assert Doc(vocab, words, spaces).text == "".join(
            word + " " * space for word, space in zip(words, spaces, strict=True)
        )
        assert [tokens.text_of(i) for i in indices.tolist()] == words
        parts.append(list(zip(words, spaces, strict=True)))
    assert parts == [
        [("Pip", True), ("can't", True), ("sit", False), (".", True)],
        [('"', False), ("The", True), ("boys'", True), ("hats", False), ("!", False), ('"', True)],
    ]


def test_progress() -> None:
    calls: list[tuple[int, int]] = []
    text = "A crab sat. " * 200_000
    tokenize(text, progress=lambda done, size: calls.append((done, size)))
    assert len(calls) == 3
    assert calls == sorted(calls)
    assert calls[-1] == (len(text), len(text))


def test_parts_join_without_a_seam() -> None:
    text = "crab's-eye " * 200_000  # more than one part, cut at white space
    tokens = tokenize(text)
    assert len(tokens.word_indices()) == 400_000
    assert {t.text for t in tokens.types} == {"crab's", "-", "eye"}


def test_columns_are_read_only() -> None:
    tokens = tokenize("Pip sat.")
    with pytest.raises(ValueError, match="read-only"):
        tokens.start[0] = 1


# id, text that makes careless tokenizers slow, number of tokens
LONG = [
    ("one-long-word", "a" * 10_000, 1),
    ("a-megabyte-of-letters", "a" * 1_000_000, 1),
    ("apostrophes-inside", "a'" * 500_000 + "a", 1),
    ("digits", "1" * 1_000_000, 1),
    ("numerals-with-dots", "1." * 500_000, 2),
    ("letters-with-dots", "a." * 500_000, 1),
    ("combining-marks", "e" + "\u0301" * 1_000_000, 1),
    ("hyphens", "ab-" * 100_000, 200_000),
    ("quotes", "'" * 100_000, 100_000),
    ("white-space", " \n" * 500_000, 1),
    ("possessives", "boys' " * 100_000, 200_000),
    ("brackets", ("(" * 99 + " ") * 1_000, 100_000),
]


@pytest.mark.parametrize(("text", "count"), [c[1:] for c in LONG], ids=[c[0] for c in LONG])
def test_long_texts_take_no_time(text: str, count: int) -> None:
    before = time.perf_counter()
    assert len(tokenize(text)) == count
    assert time.perf_counter() - before < 10  # a second or two; quadratic would take minutes


def check(text: str, tokens: Tokens) -> None:
    assert "".join(tokens.text_of(i) for i in range(len(tokens))) == text
    assert (tokens.start[1:] == tokens.end[:-1]).all()
    assert (tokens.start < tokens.end).all()
    assert len({t.text for t in tokens.types}) == len(tokens.types)
    used = tokens.type_id[tokens.type_id >= 0]
    assert set(used.tolist()) == set(range(len(tokens.types)))
    kinds = np.array([t.kind for t in tokens.types], dtype=np.uint8)
    assert (kinds[used] == tokens.kind[tokens.type_id >= 0]).all()
    for i in tokens.word_indices().tolist():
        block = tokens.blocks[tokens.block[i]]
        assert block.start <= tokens.start[i] < tokens.end[i] <= block.end
    bounds = tokens.sentences()
    assert bounds.ravel()[:1].tolist() == [0][: len(bounds)]
    assert (bounds[1:, 0] == bounds[:-1, 1]).all()
    assert (bounds[:, 0] < bounds[:, 1]).all()
    assert bounds.ravel()[-1:].tolist() == [len(tokens)][: len(bounds)]
    for first, last in bounds.tolist():
        words, spaces, indices = tokens.doc_parts(first, last)
        assert len(words) == len(spaces) == len(indices)


PIECES = [
    *"aAsSIT'’‘ʼ\"“”.,!?…-—_*#[]()<>&;:/|~=+ \n\r\t129£%@$°\u00ad\u200b\u200d\ufe0f\u20e3\u0301\u2011",
    *("ﬁ", "\U0001f469", "\0", "\x85", "\u3000", "\xa0", "\ud800", "\n\n", "Mr.", "boys'", "U.S.", "'em", ":)"),
    *("www.a.org", "&amp;", "**", "`", "# ", "- ", "```\n"),
]
ANY = st.lists(st.sampled_from(PIECES), max_size=40).map("".join) | st.text()


@settings(deadline=None, max_examples=500)
@given(ANY)
def test_tokens_partition_any_text(text: str) -> None:
    tokens = tokenize(text)
    check(text, tokens)
    for i in range(len(tokens)):
        number = int(tokens.type_id[i])
        assert tokens.text_of(i).isspace() if number < 0 else tokens.text_of(i) == tokens.types[number].text


@settings(deadline=None, max_examples=500)
@given(ANY)
def test_tokens_partition_any_markdown(text: str) -> None:
    tokens = tokenize(text, markdown=True)
    check(text, tokens)
    assert all(tokens.text_of(i).isspace() for i in np.flatnonzero(tokens.kind == Kind.SPACE).tolist())


@given(st.text("abcdefghijklmnopqrstuvwxyzABC'’.,!?- \n", max_size=80))
def test_white_space_around_changes_no_word(text: str) -> None:
    assert read(tokenize(f"  {text}\n")) == read(tokenize(text))


@given(st.text())
def test_keys_are_stable(text: str) -> None:
    assert key_of(key_of(text)) == key_of(text)


def test_letters_are_never_left_out() -> None:
    """Every run of plain letters is inside one token, whatever the tokenizer makes of it."""
    words = "cannot gonna gimme lemme wanna whatcha im dont id ill well cant doin"
    assert " ".join(read(tokenize(words))) == words


# id, line to find, its replacement, what the faults say
FAULTS = [
    ("no-table", "[symbols]", "[symbol]", ("unknown entry 'symbol'; nearest: symbols", "expected a table [symbols]")),
    ("no-list", 'before = ["£", "$", "€", "#"]', 'before = "£"', ("expected a list of words", "got '£'")),
    ("no-spoken-form", 'Mrs = "missus"', "Mrs = 1", ("expected how 'Mrs' is read, in quotes, got 1",)),
    ("syntax", "[numerals]", "[numerals", ("not valid TOML",)),
]


@pytest.mark.parametrize(("old", "new", "says"), [c[1:] for c in FAULTS], ids=[c[0] for c in FAULTS])
def test_faults_in_the_rules(tmp_path: Path, old: str, new: str, says: tuple[str, ...]) -> None:
    text = RULES.read_text(encoding="utf-8")
    assert old in text
    path = tmp_path / "text.toml"
    path.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        load_text_rules(path)
    for part in says:
        assert part in str(caught.value)
    if old not in ("[symbols]",):
        line = text[: text.index(old)].count("\n") + 1
        assert caught.value.faults[0].startswith(f"text.toml:{line}:")


def test_rules_can_be_given(tmp_path: Path) -> None:
    text = RULES.read_text(encoding="utf-8")
    path = tmp_path / "text.toml"
    path.write_text(text.replace('Mrs = "missus"', 'Mrs = "missus"\nSkip = "skipper"'), encoding="utf-8")
    kinds = [t.kind for t in tokenize("Skip. Tom", rules=load_text_rules(path)).types]
    assert kinds == [Kind.ABBREVIATION, Kind.WORD]
