"""Cache keys name versions, not source files: an installation without sources works, and keeps its cache."""

from __future__ import annotations

import compileall
import shutil
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

import routecost
from routecost.core.cache import version as module
from routecost.core.cache.version import measures_key, plans_key

CODE = (
    "from routecost.core.cache.version import measures_key, plans_key\n"
    "from routecost.core.cache.store import AnswerCache\n"
    "import routecost.core.cache.version as v, sys\n"
    "cache = AnswerCache.in_folder(sys.argv[1])\n"
    "print(v.__file__.endswith('.pyc'), plans_key(), cache.get(float, 'ab', 'n', {}, lambda: 3.0))"
)


@pytest.fixture(autouse=True)
def _forget(monkeypatch: pytest.MonkeyPatch) -> object:
    measures_key.cache_clear()
    yield
    monkeypatch.undo()
    measures_key.cache_clear()


@pytest.mark.parametrize("name", ["numpy", "scipy", "manifold3d", "trimesh"])
def test_another_version_of_a_library_that_computes_is_another_key(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = measures_key()
    measures_key.cache_clear()
    monkeypatch.setattr(module, "version", lambda n: "99" if n == name else metadata.version(n))
    assert measures_key() != before


@pytest.mark.parametrize("name", ["MEASURES_VERSION", "PLANS_VERSION"])
def test_a_raised_version_is_another_key(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    before = measures_key(), plans_key()
    measures_key.cache_clear()
    monkeypatch.setattr(module, name, getattr(module, name) + 1)
    assert plans_key() != before[1]
    assert (measures_key() == before[0]) == (name == "PLANS_VERSION")


def test_an_installation_without_sources_has_the_same_keys(tmp_path: Path) -> None:
    package = tmp_path / "routecost"
    for room in ("", "core", "core/cache"):
        (package / room).mkdir()
        for source in (Path(routecost.__file__).parent / room).glob("*.py"):
            shutil.copy(source, package / room)
    compileall.compile_dir(package, legacy=True, quiet=1)
    for source in package.rglob("*.py"):
        source.unlink()
    run = subprocess.run(
        [sys.executable, "-c", CODE, str(tmp_path / "cache")],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path)},
    )
    assert (run.stdout, run.stderr) == (f"True {plans_key()} 3.0\n", "")
