"""The command line: translates words typed in a terminal into calls of the engine, and shows what comes back."""

from __future__ import annotations

import os
import sys


def main() -> None:
    """Run a command. Exit status: 0 nothing flagged, 1 something flagged, 2 bad input or usage."""
    from decodable.cli import drill, practice, words  # noqa: F401 (they add their commands)
    from decodable.cli.commands import app
    from decodable.errors import DecodableError

    try:
        app()
    except DecodableError as error:
        print(f"decodable: {_safe(str(error))}", file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        # The reader of a pipe (head, less) has gone: nothing is left to say.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)


def _safe(text: str) -> str:
    """Escape sequences shown, not obeyed."""
    return "".join(c if c.isprintable() or c == "\n" else repr(c)[1:-1] for c in text)
