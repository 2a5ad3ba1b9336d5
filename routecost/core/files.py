"""Files written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from routecost.core.errors import InputError


def write_whole(path: Path, data: bytes | str) -> None:
    """Write so that a reader sees the old file or the whole new one: a temporary file beside it, flushed to
    the disk, then put in its place. A break leaves nothing half written. Raises OSError."""
    raw = data.encode("utf-8") if isinstance(data, str) else data
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(raw)
            file.flush()
            os.fsync(file.fileno())
        # mkstemp lets nobody else read; what a person writes should follow the person's umask
        umask = os.umask(0)
        os.umask(umask)
        Path(beside).chmod(0o666 & ~umask)
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def write_for_user(path: Path, data: bytes | str) -> None:
    """The same for a file that the user named: what hinders it is told as bad input."""
    try:
        write_whole(path, data)
    except OSError as error:
        what = f"cannot be written ({error.strerror or error})"
        raise InputError.of(str(path), "", what, "choose another place, or close the file") from None
