"""Writing the user's own files: whole or not at all, and readable by the user alone.

In go a path and what it is to hold; the folder has the permissions 0700, the file 0600.
"""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from decodable.errors import DecodableError


def private_folder(path: Path) -> Path:
    """The folder, made with whatever lies above it if need be, open to the user alone."""
    try:
        if not path.is_dir():
            path.parent.mkdir(parents=True, exist_ok=True)
            path.mkdir(mode=0o700, exist_ok=True)
        if path.stat().st_mode & 0o077:
            path.chmod(0o700)
    except OSError as error:
        raise _cannot(path, error) from None
    return path


def write_private(path: Path, content: str | bytes) -> None:
    """Write a file so that only the user can read it; a crash leaves the old content or the new, never a part."""
    data = content.encode("utf-8") if isinstance(content, str) else content
    private_folder(path.parent)
    try:
        handle, scratch = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise _cannot(path, error) from None
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.replace(scratch, path)
    except OSError as error:
        with contextlib.suppress(OSError):
            os.unlink(scratch)
        raise _cannot(path, error) from None


def _cannot(path: Path, error: OSError) -> DecodableError:
    return DecodableError(f"Cannot write {path}: {error}. Set DECODABLE_HOME to a folder that you may write.")
