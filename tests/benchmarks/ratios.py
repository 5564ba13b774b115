"""Times as ratios, all in one run, so that they hold on any machine: ``python tests/benchmarks/ratios.py [TEXT ...]``.

Each line names what is timed, against what, and the ratio. Texts are whole books; without any, the ones in
``../shared/gold/texts`` beside the project are used where they are present.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import spacy

from decodable import resources
from decodable.compiling import make_analyser, source_dictionary
from decodable.engine import Engine
from decodable.errors import DecodableError
from decodable.judge import Judge
from decodable.judging import need_steps, reading_steps, taught, word_steps
from decodable.lexicon import load_rules
from decodable.readers import Reader
from decodable.sequence import sequence_names
from decodable.source import read_source
from decodable.text import tokenize

PROJECT = Path(__file__).resolve().parents[2]
ROUNDS = 5


def best(job: Callable[[], object], rounds: int = ROUNDS) -> float:
    """The shortest of several runs, in seconds."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def books(engine: Engine, paths: list[Path]) -> None:
    """Checking a whole book against spaCy's blank tokenizer alone."""
    tokenizer = spacy.blank("en").tokenizer
    for path in paths:
        text = read_source(path).text
        start = time.perf_counter()
        reader = engine.reader("gull-point", "igh-ie")
        tokens = tokenize(text)
        report = engine.check(tokens, reader)
        report.counts, report.by_step  # noqa: B018 (worked out when asked for)
        first = time.perf_counter() - start
        tokenizer(text)
        base = best(lambda text=text: tokenizer(text))  # type: ignore[misc]

        def plain(text: str = text) -> None:
            from decodable.report import check

            found = check(tokenize(text), engine.judge(reader))
            found.counts, found.by_step  # noqa: B018

        again = best(plain)
        tagged = best(lambda text=text: engine.check(text, reader).counts, 2)  # type: ignore[misc]
        advice = best(lambda: engine.check(tokens, reader).teach_first(), 1)
        print(
            f"{path.name}: {len(report.index)} words; tokenizer {base:.3f} s; check / tokenizer {again / base:.2f}; "
            f"first time {first / base:.2f}; with heteronyms by sentence {tagged / base:.2f}; advice alone {advice / base:.2f}"
        )


def dictionary(engine: Engine) -> None:
    """Judging the whole dictionary for an edited sequence."""
    lexicon = engine.lexicon
    for name in sequence_names():
        sequence = engine.sequence(name)

        def judge(sequence: object = sequence) -> None:
            table = lexicon.table
            by_need = need_steps(table.needs, taught(sequence, lexicon.teaching))  # type: ignore[arg-type]
            word_steps(table, reading_steps(table, by_need))

        judge()
        print(f"judging {len(lexicon.words)} words for {name}: {1000 * best(judge):.1f} ms")


def word_index(engine: Engine) -> None:
    """The index of a new reader's words, and a list from it, against judging the whole dictionary for that reader."""
    from decodable.judge import Bank
    from decodable.word_order import load_order
    from decodable.words import Query, WordIndex

    table, order = engine.word_table(), load_order(resources.rules_dir() / "words.toml")
    for name in sequence_names():
        reader = engine.reader(name, len(engine.sequence(name).steps) // 2)

        def index(reader: Reader = reader) -> WordIndex:
            return WordIndex(Judge(reader, engine.lexicon, engine.finder()), table, engine.phrases, order)

        index().find(Query())
        judge = engine.judge(reader)
        whole = best(lambda: Bank(engine.lexicon.table, judge))
        alone = best(index)
        listed = best(lambda: index().find(Query(limit=60)))
        with_whole = best(lambda: index().texts(Query(whole=True)))
        print(
            f"words of a new reader, {name}: index {1000 * alone:.1f} ms, with a list of 60 {1000 * listed:.1f} ms, with "
            f"whole words {1000 * with_whole:.1f} ms; index / judging the dictionary {alone / whole:.2f}"
        )


def drill(engine: Engine) -> None:
    """Chains, pairs and made-up words of every step, warm: the slowest step, in processor time."""
    from decodable.chains import chain
    from decodable.made_up import made_up
    from decodable.pairs import contrasts

    jobs: dict[str, Callable[[Reader], object]] = {
        "a chain of eight": lambda reader: chain(engine.words(reader), length=8, seed=1),
        "pairs for all that is confused": lambda reader: contrasts(engine.words(reader)),
        "ten made-up words": lambda reader: made_up(engine, reader, seed=1),
    }
    readers = [
        engine.reader(name, n) for name in sequence_names() for n in range(1, len(engine.sequence(name).steps) + 1)
    ]
    for name, job in jobs.items():
        job(engine.reader("gull-point"))
        job(engine.reader("england-appendix-1"))
        times = []
        for reader in readers:
            engine.judge(reader).bank, engine.words(reader).clearness
            start = time.process_time()
            job(reader)
            times.append((time.process_time() - start, reader.sequence.name, reader.step))
        slowest = max(times)
        print(
            f"{name}: slowest of {len(times)} steps {1000 * slowest[0]:.0f} ms ({slowest[1]} {slowest[2]}), "
            f"median {1000 * statistics.median(t for t, _, _ in times):.0f} ms"
        )


def practice(engine: Engine) -> None:
    """Lists, sorts, blends, boxes, dictation and a lesson for every step, warm: the slowest step, in processor time."""
    from decodable.blends import blend_charts
    from decodable.dictation import dictation
    from decodable.lesson import lesson
    from decodable.practice import practice_words
    from decodable.review import fluency_grid, review_plan
    from decodable.sorts import word_sort
    from decodable.sound_boxes import SoundWork
    from decodable.words import Query

    jobs: dict[str, Callable[[Reader], object]] = {
        "60 words, the new pattern first": lambda reader: engine.words(reader).find(Query(order="new", limit=60)),
        "a practice list": lambda reader: practice_words(engine.words(reader), seed=1),
        "a sort by sound": lambda reader: word_sort(engine.words(reader), seed=1),
        "blend charts": lambda reader: blend_charts(engine.words(reader)),
        "a grid": lambda reader: fluency_grid(engine.words(reader)),
        "boxes for one word": lambda reader: SoundWork(engine.words(reader)).boxes("ship"),
        "words to dictate": lambda reader: dictation(engine, reader, sentences=0),
        "words and two sentences to dictate": lambda reader: dictation(engine, reader),
        "a plan of six weeks": lambda reader: review_plan(engine, reader),
        "a lesson": lambda reader: lesson(engine, reader),
    }
    sequences = [engine.sequence(name) for name in sequence_names()]
    readers = [engine.reader(s, n) for s in sequences for n in range(1, len(s.steps) + 1)]
    for name, job in jobs.items():
        times = []
        for reader in readers:
            with suppress(DecodableError):  # the first steps have no words for a sort or a grid
                job(reader)
                start = time.process_time()
                job(reader)
                times.append((time.process_time() - start, reader.sequence.name, reader.step))
        slowest, median = max(times), statistics.median(t for t, _, _ in times)
        where = f"{slowest[1]} {slowest[2]}"
        print(
            f"{name}: slowest of {len(times)} steps {1000 * slowest[0]:.0f} ms ({where}), median {1000 * median:.0f} ms"
        )


def aligning() -> None:
    """Aligning the whole dictionary on one core."""
    rules = load_rules()
    found = source_dictionary(rules)
    analyser = make_analyser(rules, found)
    start = time.perf_counter()
    for word in found.pronunciations:
        analyser.analysed(word)
    took = time.perf_counter() - start
    print(
        f"aligning {len(found.pronunciations)} words: {took:.1f} s, {len(found.pronunciations) / took:.0f} words a second"
    )


def cold() -> None:
    """``decodable check`` on one page, cold, against importing spaCy and making a blank pipeline."""
    page = PROJECT / "passages" / "the-tin.md"
    with tempfile.TemporaryDirectory() as folder:
        text = Path(folder) / "page.txt"
        text.write_text(page.read_text(encoding="utf-8") if page.is_file() else "The cat sat. " * 80, encoding="utf-8")
        ours = [sys.executable, "-m", "decodable", "check", str(text), "--step", "sh"]
        base = [sys.executable, "-c", "import spacy; spacy.blank('en')"]
        pairs = []
        for _ in range(ROUNDS):
            both = []
            for command in (base, ours):
                start = time.perf_counter()
                subprocess.run(command, capture_output=True, check=False, env=os.environ, cwd=PROJECT)
                both.append(time.perf_counter() - start)
            pairs.append(both[1] / both[0])
        print(f"one page, cold / spaCy blank: {statistics.median(pairs):.2f}")
        words = [sys.executable, "-m", "decodable", "words", "--sequence", "gull-point", "--step", "sh"]
        pairs = []
        for _ in range(ROUNDS):
            both = []
            for command in (base, words):
                start = time.perf_counter()
                subprocess.run(command, capture_output=True, check=True, env=os.environ, cwd=PROJECT)
                both.append(time.perf_counter() - start)
            pairs.append(both[1] / both[0])
        print(f"a list of words, cold / spaCy blank: {statistics.median(pairs):.2f} ({both[1]:.2f} s)")


def main(arguments: list[str]) -> None:
    """Run all of them."""
    texts = PROJECT.parent / "shared" / "gold" / "texts"
    paths = [Path(a) for a in arguments] or [texts / n for n in ("alice.txt", "wind_in_the_willows.txt")]
    engine = Engine()
    cold()
    books(engine, [p for p in paths if p.is_file()])
    dictionary(engine)
    word_index(engine)
    drill(engine)
    practice(engine)
    print(f"peak memory so far: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    aligning()


if __name__ == "__main__":
    main(sys.argv[1:])
