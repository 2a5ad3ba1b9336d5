"""Answers about meshes, computed once: in memory, and in files so that the next run computes nothing again.

One small file a question, so that processes that write at once never overwrite each other's answers:

    FOLDER / version / content hash of the mesh / question-params.json
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from routecost.core.cache.codec import plain_of, plain_params, value_of
from routecost.core.cache.version import measures_key
from routecost.core.files import write_whole

T = TypeVar("T")

Answers = Mapping[str, Any]
"""Answers in the plain form of `codec`, by `content hash/question-params`."""


@dataclass(frozen=True, eq=False)
class AnswerCache:
    """Answers about meshes, in memory and, if a folder is given, on disk.

    >>> cache = AnswerCache.in_memory()
    >>> cache.get(float, "0f", "length", {"up": (0, 0, 1)}, lambda: 0.1)
    0.1
    >>> cache.get(float, "0f", "length", {"up": (0, 0, 1)}, lambda: 1 / 0)
    0.1
    """

    folder: Path | None = None
    _plain: dict[str, Any] = field(default_factory=dict, repr=False)
    """Every answer that was computed or added here; what is only on disk is not among them."""
    _values: dict[str, Any] = field(default_factory=dict, repr=False)
    """Answers that were asked for, decoded."""

    @classmethod
    def in_memory(cls, answers: Answers | None = None) -> AnswerCache:
        return cls(None, dict(answers or {}))

    @classmethod
    def in_folder(cls, path: str | Path) -> AnswerCache:
        """Stored under `path`, which need not exist yet. Where nothing can be written, memory has to do."""
        return cls(Path(path))

    def get(
        self,
        kind: type[T],
        content_hash: str,
        name: str,
        params: Mapping[str, object],
        compute: Callable[[], T],
    ) -> T:
        """The answer to a question about a mesh: the stored one, else `compute()`, which is then stored.

        `kind` is the answer's type: numbers, text, tuples and dataclasses of these, nested at will.
        """
        asked = json.dumps([name, plain_params(params)], sort_keys=True)
        key = f"{content_hash}/{name}-{hashlib.sha256(asked.encode()).hexdigest()[:16]}"
        if key not in self._values:
            value = self._decoded(kind, key)
            if value is None:
                # through the plain form even when just computed: both runs then see the very same value
                plain = plain_of(compute())
                value = value_of(kind, plain)
                self.add({key: plain})
            self._values[key] = value
        found: T = self._values[key]
        return found

    def add(self, answers: Answers) -> None:
        """Store answers that another cache found."""
        self._plain.update(answers)
        if self.folder is not None:
            for key, plain in answers.items():
                write_checked(self._file(self.folder, key), json.dumps(plain))

    def answers(self, content_hash: str) -> dict[str, Any]:
        """All that is known about a mesh."""
        start = f"{content_hash}/"
        found = {key: plain for key, plain in self._plain.items() if key.startswith(start)}
        for key in self._keys_on_disk(content_hash):
            plain = None if key in found else self._read(key)
            if plain is not None:
                found[key] = plain
        return found

    def _keys_on_disk(self, content_hash: str) -> Iterator[str]:
        if self.folder is not None:
            for file in (self.folder / measures_key() / content_hash).glob("*.json"):
                yield f"{content_hash}/{file.stem}"

    def _decoded(self, kind: type[T], key: str) -> T | None:
        try:
            value: T = value_of(kind, self._read(key))
            return value
        except (ValueError, TypeError, KeyError):
            return None  # absent, or of another kind: to be computed

    def _read(self, key: str) -> Any:
        """The plain form of an answer; None where it is absent or damaged."""
        if key in self._plain or self.folder is None:
            return self._plain.get(key)
        text = read_checked(self._file(self.folder, key))
        try:
            return None if text is None else json.loads(text)
        except ValueError:
            return None

    @staticmethod
    def _file(folder: Path, key: str) -> Path:
        return folder / measures_key() / f"{key}.json"


def read_checked(path: Path) -> str | None:
    """A text as `write_checked` wrote it; None where it is absent or damaged."""
    try:
        checksum, _, text = path.read_text("utf-8").partition("\n")
    except (OSError, ValueError):
        return None
    return text if checksum == _checksum(text) else None


def write_checked(path: Path, text: str) -> None:
    """Write a text with its checksum. Where it cannot be written, the next run does the work again."""
    with suppress(OSError):
        write_whole(path, f"{_checksum(text)}\n{text}")


def user_folder() -> Path:
    """The cache for meshes outside any build: $ROUTECOST_CACHE, else .cache/routecost in the home folder."""
    if named := os.environ.get("ROUTECOST_CACHE"):
        return Path(named).expanduser()
    try:
        return Path.home() / ".cache" / "routecost"
    except RuntimeError:  # an account without a home
        return Path(tempfile.gettempdir()) / "routecost"


def _checksum(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
