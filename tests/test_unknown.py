"""Words that the dictionary lacks: derived, read as spelled, guessed, or left alone."""

from __future__ import annotations

import pytest

from decodable.engine import Engine

CASES = {
    "hothead": ("derived", "h=HH o=AA t=T h=HH ea=EH d=D"),
    "foghorn": ("derived", "f=F o=AA g=G h=HH or=AO+R n=N"),
    "bathhouse": ("derived", "b=B a=AE th=TH h=HH ou=AW se=S"),
    "mudflats": ("derived", "m=M u=AH d=D f=F l=L a=AE t=T s=S"),
    "crabbing": ("derived", "c=K r=R a=AE bb=B i=IH ng=NG"),
    "pip's": ("derived", "p=P i=IH p=P s=S"),
    "jess's": ("derived", "j=JH e=EH ss=S s=AH+Z"),
    "boys'": ("derived", "b=B oy=OY s=Z"),
    "sooo": ("derived", "s=S ooo=OW"),
    "zog": ("spelled", "z=Z o=AO g=G"),
    "splod": ("spelled", "s=S p=P l=L o=AA d=D"),
    "squib": ("spelled", "s=S qu=K+W i=IH b=B"),
    "phope": ("spelled", "ph=F o-e=OW p=P"),
    "zog's": ("spelled", "z=Z o=AO g=G s=Z"),
    "zoob": ("predicted", "z=Z oo=UW b=B"),
    "zoob's": ("predicted", None),
    "mcgregor's": ("derived", "mc=M+AH g=G r=R e=EH g=G or=ER s=Z"),
}


@pytest.mark.parametrize(("word", "source", "division"), [(w, *c) for w, c in CASES.items()], ids=list(CASES))
def test_source_and_division(engine: Engine, word: str, source: str, division: str | None) -> None:
    reading = engine.readings(word)[0]
    assert reading.source == source
    shown = " ".join(f"{g.letters}={'+'.join(s.rstrip('012') for s in g.sounds)}" for g in reading.graphemes)
    assert division in (None, shown)


@pytest.mark.parametrize("word", ["brrr", "grrr", "", "'", "日本", "x" * 60, "1st"])
def test_no_reading(engine: Engine, word: str) -> None:
    assert engine.readings(word) == ()


def test_a_guess_is_unknown_and_a_spelled_word_is_listed(engine: Engine) -> None:
    report = engine.check("Zog had a zoob.", engine.reader("gull-point", "oo"))
    assert [w.verdict for w in report.words()] == ["decodable", "decodable", "taught-whole", "unknown"]
    assert [w.text for w, _ in report.read_as_spelled] == ["Zog"]
    assert next(report.words()).allowance == "read as spelled"
