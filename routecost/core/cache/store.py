"""Answers that were measured once are kept: a second run measures nothing again.

One small file a question, so that processes which write at once never take answers from each other:

    FOLDER / version / content hash of the mesh / question-params.json

The version is a hash of this package's sources: answers of an older way of measuring are never mixed in.
"""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

from routecost.core.files import write_whole

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class AnswerCache:
    """Measured answers, in memory and, if a folder is given, on disk.

    >>> kept = AnswerCache.in_memory()
    >>> kept.get(float, "0f", "length", {"up": (0, 0, 1)}, lambda: 0.1)
    0.1
    >>> kept.get(float, "0f", "length", {"up": (0, 0, 1)}, lambda: 1 / 0)
    0.1
    """

    folder: Path | None = None
    _memory: dict[str, Any] = field(default_factory=dict, repr=False)

    @classmethod
    def in_memory(cls) -> AnswerCache:
        return cls()

    @classmethod
    def in_folder(cls, path: str | Path) -> AnswerCache:
        """Kept under `path`, which need not exist yet. Where nothing can be written, memory has to do."""
        return cls(Path(path))

    def get(
        self,
        kind: type[T],
        content_hash: str,
        name: str,
        params: Mapping[str, object],
        measure: Callable[[], T],
    ) -> T:
        """The answer to a question about a mesh: the kept one, else `measure()`, which is then kept.

        `kind` is the answer's type: numbers, text, tuples and dataclasses of these, nested at will.
        """
        asked = json.dumps([name, _plain_params(params)], sort_keys=True)
        key = f"{content_hash}/{name}-{hashlib.sha256(asked.encode()).hexdigest()[:16]}.json"
        if key not in self._memory:
            answer = self._read(kind, key)
            if answer is None:
                # through the plain form even when just measured: both runs then see the very same value
                plain = plain_of(measure())
                answer = value_of(kind, plain)
                self._write(key, plain)
            self._memory[key] = answer
        kept: T = self._memory[key]
        return kept

    def has_answers(self, content_hash: str) -> bool:
        """Whether anything about a mesh is kept already: a guess at how long asking will take."""
        if any(key.startswith(content_hash) for key in self._memory):
            return True
        return self.folder is not None and (self.folder / sources_version() / content_hash).is_dir()

    def _read(self, kind: type[T], key: str) -> T | None:
        if self.folder is None:
            return None
        try:
            text = read_checked(self.folder / sources_version() / key)
            answer: T | None = None if text is None else value_of(kind, json.loads(text))
            return answer
        except (ValueError, TypeError, KeyError):
            return None  # of another kind: to be measured anew

    def _write(self, key: str, plain: object) -> None:
        if self.folder is not None:
            write_checked(self.folder / sources_version() / key, json.dumps(plain))


def read_checked(path: Path) -> str | None:
    """A text as `write_checked` wrote it; None where it is absent or damaged."""
    try:
        checksum, _, text = path.read_text("utf-8").partition("\n")
    except (OSError, ValueError):
        return None
    return text if checksum == _checksum(text) else None


def write_checked(path: Path, text: str) -> None:
    """Keep a text with its checksum. Where it cannot be written, the next run does the work again."""
    with suppress(OSError):
        write_whole(path, f"{_checksum(text)}\n{text}")


def user_folder() -> Path:
    """Where answers are kept when nothing else is said: $ROUTECOST_CACHE, else .cache/routecost at home."""
    if named := os.environ.get("ROUTECOST_CACHE"):
        return Path(named).expanduser()
    try:
        return Path.home() / ".cache" / "routecost"
    except RuntimeError:  # an account without a home
        return Path(tempfile.gettempdir()) / "routecost"


@cache
def sources_version() -> str:
    """Names the way of measuring: a hash of the sources that read meshes and measure them."""
    return hash_of_sources("mesh", "core")


@cache
def hash_of_sources(*names: str) -> str:
    """16 hex digits over sources of the program: `names` are files and rooms of it, none is all of it."""
    program, digest = Path(__file__).parents[2], hashlib.sha256()
    for place in [program / name for name in names] or [program]:
        for source in sorted(place.rglob("*.py")) if place.is_dir() else [place]:
            name = source.relative_to(program).as_posix()
            digest.update(name.encode() + b"\0" + source.read_bytes() + b"\0")
    return digest.hexdigest()[:16]


def plain_of(value: Any) -> Any:
    """A value as lists, objects and scalars that JSON can hold without loss.

    >>> plain_of((1.5, (True, 2)))
    [1.5, [True, 2]]
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain_of(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, tuple | list):
        return [plain_of(item) for item in value]
    if value is None or isinstance(value, str | bool):
        return value
    if hasattr(value, "item"):  # a numpy scalar
        value = value.item()
    if isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        return float(value)
    raise TypeError(
        f"{type(value).__name__} cannot be kept; use numbers, text, tuples and dataclasses of these"
    )


def value_of(kind: Any, plain: Any) -> Any:
    """The typed value again; TypeError or ValueError where `plain` is not of that kind.

    >>> value_of(tuple[float, ...], [1, 2.5])
    (1.0, 2.5)
    """
    if isinstance(kind, type) and is_dataclass(kind):
        hints = _hints(kind)
        if not isinstance(plain, dict) or plain.keys() != hints.keys():
            raise TypeError(f"not the fields of {kind}")
        return kind(**{name: value_of(hint, plain[name]) for name, hint in hints.items()})
    if get_origin(kind) is tuple:
        if not isinstance(plain, list):
            raise TypeError(f"{plain!r} is no tuple")
        items = get_args(kind)
        if len(items) == 2 and items[1] is Ellipsis:
            return tuple(value_of(items[0], item) for item in plain)
        return tuple(value_of(item_kind, item) for item_kind, item in zip(items, plain, strict=True))
    if kind is float and isinstance(plain, int | float) and not isinstance(plain, bool):
        return float(plain)
    if kind in (int, bool, str) and type(plain) is kind:
        return plain
    raise TypeError(f"{plain!r} is not {kind}")


@cache
def _hints(kind: type) -> dict[str, Any]:
    hints = get_type_hints(kind)
    return {f.name: hints[f.name] for f in fields(kind)}


def _plain_params(value: Any) -> Any:
    """Equal params read the same: 20 as 20.0, -0.0 as 0.0, numpy scalars as numbers, arrays as lists."""
    if isinstance(value, Mapping):
        return {str(key): _plain_params(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, tuple | list):
        return [_plain_params(item) for item in value]
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value) + 0.0
    return plain_of(value)


def _checksum(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
