"""The errors that a person sees: each says what was expected, what came, where, and what to do next."""

from __future__ import annotations


class DecodableError(ValueError):
    """Bad input or usage. The message is one line (or one line a fault) written for a teacher."""


class FaultsError(DecodableError):
    """Several faults found at once in one file: ``faults`` holds one line each, ``file:line: what``."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(faults))
