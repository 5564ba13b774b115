"""Offsets of the browser: it counts UTF-16 units where Python counts code points.

In go a text and offsets of one kind; out come those of the other, and texts with the browser's changes made.
"""

from __future__ import annotations

import hashlib
import re

import numpy as np
import numpy.typing as npt

from decodable.errors import DecodableError

_ASTRAL = re.compile("[\U00010000-\U0010ffff]")
Ints = npt.NDArray[np.int64]
# One change as the editor sends it: a run that stays, or [removed units, inserted line, inserted line ...].
Change = int | list[int | str]


class Units:
    """The two ways to count along one text."""

    def __init__(self, text: str) -> None:
        self._astral = np.array([m.start() for m in _ASTRAL.finditer(text)], np.int64)
        self._pairs = self._astral + np.arange(len(self._astral))
        self.length = len(text) + len(self._astral)
        """The length of the text in UTF-16 units."""

    def units(self, points: npt.NDArray[np.integer] | int) -> Ints:
        """Offsets in UTF-16 units for those in code points."""
        return np.asarray(points + np.searchsorted(self._astral, points), np.int64)

    def point(self, unit: int) -> int:
        """The offset in code points for one in UTF-16 units; inside a pair, the pair's own."""
        return int(unit - np.searchsorted(self._pairs + 1, unit, side="right"))


def whole_letters(text: str) -> str:
    """The text with a replacement character for each half of a pair that stands alone; as long as before in units."""
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        return text.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")
    return text


def changed(text: str, changes: list[Change]) -> str:
    """A text after the editor's changes, which must fit it exactly.

    Args:
        text: the text before.
        changes: the editor's list: a number is a run of units that stays; a list holds how many units go and the lines
            that come in their place.
    """
    data = text.encode("utf-16-le", "surrogatepass")
    out: list[bytes] = []
    at = 0
    for change in changes:
        if isinstance(change, int):
            kept, lines = change, None
        else:
            if not change or not isinstance(change[0], int) or not all(isinstance(x, str) for x in change[1:]):
                raise DecodableError(f"A change should be a number, or a number and lines, not {change!r}.")
            kept, lines = change[0], [str(line) for line in change[1:]]
        if kept < 0 or at + kept * 2 > len(data):
            raise DecodableError(f"The changes reach beyond the text, which has {len(data) // 2} units.")
        if lines is None:
            out.append(data[at : at + kept * 2])
        elif lines:
            out.append("\n".join(lines).encode("utf-16-le", "surrogatepass"))
        at += kept * 2
    if at != len(data):
        raise DecodableError(f"The changes cover {at // 2} of {len(data) // 2} units.")
    return b"".join(out).decode("utf-16-le", "replace")


def revision(text: str) -> str:
    """A short name for exactly this text."""
    return hashlib.blake2b(text.encode("utf-8", "surrogatepass"), digest_size=9).hexdigest()
