"""Every example of the README is run, and does what it shows.

A block of `console` holds commands, each after a `$`, with what they print; a line `...` stands for any lines left out.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import decodable
import decodable.pipe  # a checkout that is only on the path has no entry point by which spaCy finds it
from decodable.cli.commands import app
from decodable.doctor import faults_of

PROJECT = Path(__file__).resolve().parents[1]
README = (PROJECT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", README, re.DOTALL | re.MULTILINE)


def commands(block: str) -> list[tuple[str, list[str]]]:
    """The commands of a block, each with the lines that it is said to print."""
    out: list[tuple[str, list[str]]] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            out.append((line[2:], []))
        else:
            out[-1][1].append(line)
    return out


def agrees(shown: list[str], printed: str) -> bool:
    """Whether a text was printed as shown, but for white space at the ends of lines."""
    lines = [r"(?:.*\n)*" if line == "..." else re.escape(line.rstrip()) + r"\n" for line in shown]
    found = "".join(f"{line.rstrip()}\n" for line in printed.splitlines())
    return re.fullmatch("".join(lines), found) is not None


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    """A folder with what the examples read, and the command `decodable` of this checkout in `bin`."""
    shutil.copytree(PROJECT / "passages", tmp_path / "passages")
    command = tmp_path / "bin" / "decodable"
    command.parent.mkdir()
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m decodable "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    return tmp_path


@pytest.mark.skipif(not shutil.which("sh"), reason="the examples are written for a POSIX shell")
@pytest.mark.parametrize(("command", "shown"), [pair for block in blocks("console") for pair in commands(block)])
def test_console_example_prints_what_it_shows(checkout: Path, command: str, shown: list[str]) -> None:
    kept = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "LINES", "FORCE_COLOR")}
    path = os.pathsep.join([str(checkout / "bin"), kept.get("PATH", os.defpath)])
    env = {**kept, "PATH": path, "PYTHONPATH": str(PROJECT), "PYTHONUTF8": "1"}
    done = subprocess.run(
        ["sh", "-c", command], cwd=checkout, env=env, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.stderr == ""
    assert done.returncode in (0, 1)
    assert agrees(shown, done.stdout), f"the README shows\n\n{chr(10).join(shown)}\n\nbut it prints\n\n{done.stdout}"


@pytest.mark.parametrize("code", blocks("python"))
def test_python_example_runs(code: str) -> None:
    assert decodable.pipe.NAME
    exec(compile(code, "README", "exec"), {})


@pytest.mark.parametrize("text", blocks("toml"))
def test_file_example_has_no_fault(tmp_path: Path, text: str) -> None:
    path = tmp_path / ("never_offered.toml" if "[[off]]" in text else "reader.toml")
    path.write_text(text, encoding="utf-8")
    assert faults_of(decodable.shared_engine(), [path]) == ([], [path.name])


def test_there_are_examples_of_each_kind_and_every_command_is_named() -> None:
    assert all(blocks(language) for language in ("console", "python", "toml"))
    names = [found.name or found.callback.__name__ for found in app.registered_commands if found.callback]
    assert "check" in names
    assert [name for name in names if f"decodable {name}" not in README] == []


@pytest.mark.parametrize(
    ("shown", "printed", "same"),
    [
        ("a b", "ab", True),
        ("a b", "a  \nb\n", True),
        ("a b", "abc", False),
        ("a c", "abc", False),
        ("a ... c", "abc", True),
        ("a ... c", "ac", True),
        ("... b c", "abxbc", True),
        ("a ...", "abc", True),
        ("a ... b", "abc", False),
        ("a ... d", "abc", False),
        (".", "a", False),
    ],
)
def test_examples_agree_line_by_line(shown: str, printed: str, same: bool) -> None:
    text = printed if "\n" in printed else "\n".join(printed)
    assert agrees(shown.split(), text) is same


def test_a_block_holds_commands_with_their_lines() -> None:
    assert commands("$ one\n1\n\n$ two | three\n") == [("one", ["1", ""]), ("two | three", [])]
