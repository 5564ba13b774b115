"""The spaCy component ``decodable``: in goes a Doc, out comes the same Doc with a verdict on every word.

    nlp = spacy.blank("en")
    nlp.add_pipe("decodable", config={"sequence": "gull-point", "step": "sh"})
    doc = nlp("Pip can't swim.")

* ``token._.decodable``: the :class:`~decodable.report.WordVerdict` on the word that the token belongs to, with the
  graphemes of its ``reading``; ``None`` for white space and punctuation. Every piece of a word (*ca* and *n't*) has the
  verdict on the whole word. Of several words in one token (*and/or*), the first flagged one counts, or else the first.
* ``span._.decodable``: the verdicts on all words that the span touches, each once; ``doc[:]._.decodable`` on all.
* ``doc._.decodable``: the documented output of ``decodable check --json``, as a ``dict``.
* ``span._.decodable_share``, ``doc._.decodable_share``: the readable share, between 0 and 1.

All are ``None`` for a text that was not judged, such as a span made into a Doc. The results are kept in
``doc.user_data`` as plain values, found by their place in the text, so they survive retokenizing, pickling and
serialising. A Doc that comes from a file, without the pipeline, needs :func:`register`.
"""

import json
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property, partial
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from spacy.language import Language
from spacy.tokens import Doc, Span, Token

from decodable.errors import DecodableError

# spaCy imports this module for everyone who has the package installed, so the rest of it is imported when it is used.
if TYPE_CHECKING:
    from decodable.model import Reading
    from decodable.readers import Reader
    from decodable.report import Report, WordVerdict
    from decodable.text import Tokens

NAME = "decodable"
DEFAULTS: dict[str, Any] = {
    "sequence": "gull-point",
    "step": None,
    "patterns": [],
    "not_secure": [],
    "words": [],
    "names": [],
    "told": [],
    "unstressed": "",
    "target": [],
    "use_tags": True,
    "extension": NAME,
}


@Language.factory(
    NAME, default_config=DEFAULTS, assigns=[f"doc._.{NAME}", f"span._.{NAME}", f"token._.{NAME}"], retokenizes=False
)
def make_component(
    nlp: Language,
    name: str,
    sequence: str,
    step: int | str | None,
    patterns: list[str],
    not_secure: list[str],
    words: list[str],
    names: list[str],
    told: list[str],
    unstressed: str,
    target: list[str],
    use_tags: bool,
    extension: str,
) -> "Component":
    """The component from its settings.

    Args:
        nlp: the pipeline.
        name: what the component is called in it.
        sequence: a shipped or own sequence by name, or a ``.toml`` or ``.csv`` file.
        step: the step reached: number, id or name; null: the whole sequence.
        patterns: known beside the sequence.
        not_secure: patterns taught, but not to be counted on.
        words: words known whole.
        names: names that are known.
        told: words that an adult says.
        unstressed: allow or strict; empty: as the sequence says.
        target: patterns that the text is meant to practise.
        use_tags: whether heteronyms are chosen by the tags that the Doc already has. Where it has none, or with
            ``false``, the engine tags them itself, exactly as ``decodable.check`` does.
        extension: what the attributes after ``._.`` are called; another for each of several readers in one pipeline.

    Bad settings raise :class:`DecodableError`. Only a sequence that is nowhere to be found is no error until the first
    text, because a saved pipeline brings its own.
    """
    from decodable.sequence import find_sequence

    made = Component(
        {
            "sequence": sequence,
            "step": step,
            "patterns": patterns,
            "not_secure": not_secure,
            "words": words,
            "names": names,
            "told": told,
            "unstressed": unstressed,
            "target": target,
            "use_tags": use_tags,
            "extension": extension,
        }
    )
    try:
        find_sequence(sequence)
    except DecodableError:
        return made
    made.prepare()
    return made


class Component:
    """Judges Docs for one reader. It keeps its settings only; the engine is the process's shared one."""

    def __init__(self, settings: Mapping[str, Any], sequence: str = "") -> None:
        """``settings`` as for :func:`make_component`; ``sequence`` is TOML in place of the sequence that they name."""
        self._settings = dict(settings)
        self._sequence = sequence
        register(self._settings["extension"])

    def prepare(self) -> None:
        """Raise :class:`DecodableError` now for settings that can't be used."""
        from decodable import shared_engine

        shared_engine().judge(self.reader)
        for phrase in self._settings["target"]:
            shared_engine().phrases.parse(phrase)

    @cached_property
    def reader(self) -> "Reader":
        """Who is to read the texts."""
        from decodable import shared_engine
        from decodable.sequence import from_toml

        engine, given = shared_engine(), self._settings
        name = given["sequence"]
        return engine.reader(
            from_toml(self._sequence, f"{Path(name).stem}.toml", engine.phrases) if self._sequence else name,
            given["step"],
            patterns=given["patterns"],
            not_secure=given["not_secure"],
            words=given["words"],
            names=given["names"],
            told=given["told"],
            unstressed=given["unstressed"],
        )

    def __call__(self, doc: Doc) -> Doc:
        """Judge every word of a Doc."""
        from decodable import shared_engine
        from decodable.text import tokenize

        tokens = tokenize(doc.text)
        tags = _tags(doc, tokens) if self._settings["use_tags"] else None
        report = shared_engine().check(tokens, self.reader, target=self._settings["target"], tags=tags)
        doc.user_data[self._settings["extension"]] = _plain(report)
        return doc

    # ------------------------------------------------------------------ saving
    def to_bytes(self, *, exclude: Iterable[str] = ()) -> bytes:
        """The settings and the whole sequence, as JSON; ``exclude`` is for spaCy and has nothing to name."""
        return json.dumps({"settings": self._settings, "sequence": self._toml()}).encode()

    def from_bytes(self, data: bytes, *, exclude: Iterable[str] = ()) -> "Component":
        """Take over what :meth:`to_bytes` gave."""
        saved = json.loads(data)
        self._settings, self._sequence = saved["settings"], saved["sequence"]
        self.__dict__.pop("reader", None)
        register(self._settings["extension"])
        return self

    def to_disk(self, path: str | Path, *, exclude: Iterable[str] = ()) -> None:
        """Save in a folder, which is made."""
        folder = Path(path)
        folder.mkdir(parents=True, exist_ok=True)
        (folder / _FILE).write_bytes(self.to_bytes())

    def from_disk(self, path: str | Path, *, exclude: Iterable[str] = ()) -> "Component":
        """Take over what :meth:`to_disk` saved."""
        return self.from_bytes((Path(path) / _FILE).read_bytes())

    def __reduce__(self) -> tuple[Any, ...]:
        return (Component, (self._settings, self._toml()))

    def _toml(self) -> str:
        from decodable.sequence import write_toml

        return write_toml(self.reader.sequence)


_FILE = "decodable.json"


def _tags(doc: Doc, tokens: "Tokens") -> list[str] | None:
    """The tag of each of our tokens: that of the spaCy token in which it begins. ``None`` for an untagged Doc."""
    if not doc.has_annotation("TAG") or not len(tokens):
        return None
    starts, tags = doc.to_array(["IDX", "TAG"]).T
    piece = np.searchsorted(starts, tokens.start.astype(starts.dtype), side="right") - 1
    return [doc.vocab.strings[tag] for tag in tags[np.maximum(piece, 0)].tolist()]


# ---------------------------------------------------------------------- plain values and back
def _plain(report: "Report") -> dict[str, Any]:
    """What is kept in a Doc: the documented output, each distinct reading once, and the reading of each word."""
    readings: dict[Reading, int] = {}
    of_word = [-1 if w.reading is None else readings.setdefault(w.reading, len(readings)) for w in report.words()]
    return {
        "length": len(report.tokens.source),
        "report": report.to_dict(),
        "readings": [_lists(reading) for reading in readings],
        "reading": of_word,
    }


def _lists(value: Any) -> Any:
    """A copy in plain values: lists for tuples, which some formats make of lists, and a ``dict`` for a dataclass."""
    if isinstance(value, str | int | None):
        return value
    if isinstance(value, list | tuple):
        return [_lists(item) for item in value]
    if isinstance(value, dict):
        return {key: _lists(item) for key, item in value.items()}
    return {name: _lists(getattr(value, name)) for name in value.__slots__} if hasattr(value, "__slots__") else value


def _reading(data: Mapping[str, Any]) -> "Reading":
    from decodable.model import Grapheme, Part, Reading, Syllable

    graphemes = ({**g, "at": tuple(g["at"]), "sounds": tuple(g["sounds"])} for g in data["graphemes"])
    return Reading(
        **{
            **data,
            "sounds": tuple(data["sounds"]),
            "graphemes": tuple(Grapheme(**g) for g in graphemes),
            "parts": tuple(Part(**p) for p in data["parts"]),
            "syllables": tuple(Syllable(**s) for s in data["syllables"]),
        }
    )


def _verdict(kept: Mapping[str, Any], place: int) -> "WordVerdict":
    """The verdict on one word as the report gave it."""
    from decodable.judge import Missing
    from decodable.report import WordVerdict

    word, reading = kept["report"]["words"][place], kept["reading"][place]
    return WordVerdict(
        text=word["text"],
        verdict=word["verdict"],
        first_step=word["first_step"],
        missing=tuple(Missing(**{**m, "at": tuple(m["at"])}) for m in word["missing"]),
        allowance=word["allowance"],
        source=tuple(word.get("from", ())),
        reading=_reading(kept["readings"][reading]) if reading >= 0 else None,
        note=word.get("note", ""),
    )


# ---------------------------------------------------------------------- attributes
def register(extension: str = NAME) -> None:
    """Add the attributes to spaCy's Doc, Span and Token; making the component does it, too.

    :class:`DecodableError` where another component has an attribute of the name.
    """
    if not extension.isidentifier():
        raise DecodableError(f"extension should be a name that Python allows after ._., not {extension!r}")
    wanted: Sequence[tuple[Any, str, Callable[..., Any]]] = (
        (Doc, extension, _of_doc),
        (Span, extension, _of_span),
        (Token, extension, _of_token),
        (Doc, f"{extension}_share", _share),
        (Span, f"{extension}_share", _share),
    )
    for holder, name, getter in wanted:
        found = holder.get_extension(name)[2] if holder.has_extension(name) else partial(getter)
        if not (isinstance(found, partial) and found.func is getter):
            raise DecodableError(
                f"{holder.__name__}._.{name} belongs to another component: choose another name as extension"
            )
    for holder, name, getter in wanted:
        holder.set_extension(name, getter=partial(getter, extension), force=True)


def _kept(extension: str, doc: Doc) -> Mapping[str, Any] | None:
    """What is kept in a Doc, if it is about this text."""
    kept: Mapping[str, Any] | None = doc.user_data.get(extension)
    length = doc[-1].idx + len(doc[-1].text_with_ws) if len(doc) else 0
    return kept if kept and kept["length"] == length else None


def _places(kept: Mapping[str, Any], start: int, end: int) -> range:
    """The words that share a code point with ``start`` to ``end - 1``."""
    words = kept["report"]["words"]
    return range(
        bisect_right(words, start, key=itemgetter("end")),
        bisect_left(words, end, key=itemgetter("start")),
    )


def _of_doc(extension: str, doc: Doc) -> dict[str, Any] | None:
    kept = _kept(extension, doc)
    return _lists(kept["report"]) if kept else None


def _of_span(extension: str, span: Span) -> "tuple[WordVerdict, ...] | None":
    kept = _kept(extension, span.doc)
    return tuple(_verdict(kept, n) for n in _places(kept, span.start_char, span.end_char)) if kept else None


def _of_token(extension: str, token: Token) -> "WordVerdict | None":
    kept = _kept(extension, token.doc)
    if not kept:
        return None
    found = [_verdict(kept, n) for n in _places(kept, token.idx, token.idx + len(token))]
    return next((word for word in found if word.flagged), found[0] if found else None)


def _share(extension: str, text: Doc | Span) -> float | None:
    from decodable.report import share_readable

    kept = _kept(extension, text.doc)
    if not kept:
        return None
    span = text[:] if isinstance(text, Doc) else text
    words = kept["report"]["words"]
    return share_readable(Counter(words[n]["verdict"] for n in _places(kept, span.start_char, span.end_char)))
