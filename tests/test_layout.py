"""The layout shows the architecture: who may import whom, how full a room may be, what loads when."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "routecost"

ROOMS = (
    "core.arrays", "core.errors", "core.files", "core.money", "core.units", "core.wording", "core.cache", "core.pool",
    "mesh.geometry", "mesh.reading", "mesh.measuring", "mesh.rendering",
    "shop",
    "routes.process", "routes.physics", "routes.steps", "routes.printing", "routes.casting", "routes",
    "costing", "costing.uncertainty", "costing.sensitivity",
    "builds", "buying", "scheduling", "bill", "learning",
    "planning.choosing", "planning.comparing", "planning.progress",
    "api", "demo",
    "reports.wording", "reports.json", "reports.files", "reports.text", "reports.workbook", "reports",
    "page", "page.planning", "page.main", "page.run",
    "commands", "cli", "__main__",
)  # fmt: skip
"""From the ground up. A file may import from its own room and from those before it."""

MOST_FILES = 16
MAY_IMPORT_LATE = {"routecost", "routecost.cli"}
"""These find a module by its name when it is first needed, so that help is instant."""

HEAVY = ("numpy", "scipy", "pandas", "trimesh", "manifold3d", "ortools", "streamlit", "altair", "openpyxl",
         "xlsxwriter", "pint", "rich", "PIL", "lxml")  # fmt: skip


def sources() -> Iterator[tuple[str, Path]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        yield ".".join(parts[:-1] if parts[-1] == "__init__" else parts), path


def room_of(module: str) -> int:
    """Place in ROOMS of the longest entry that the module lies in; -1 for the package itself."""
    name = module.removeprefix("routecost").removeprefix(".")
    found = [r for r in ROOMS if name == r or name.startswith(r + ".")]
    assert found or not name, f"{module} lies in no room: add it to ROOMS"
    return ROOMS.index(max(found, key=len)) if found else -1


def imports(path: Path) -> Iterator[tuple[ast.stmt, str]]:
    """Every import of the package's own modules, those inside functions included."""
    modules = {name for name, _ in sources()}
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "routecost":
            for alias in node.names:
                whole = f"{node.module}.{alias.name}"
                yield node, whole if whole in modules else node.module
        elif isinstance(node, ast.Import):
            for alias in node.names:
                if alias.name.split(".")[0] == "routecost":
                    yield node, alias.name


def only_for_types(tree: ast.Module) -> set[ast.stmt]:
    return {
        inner
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for inner in ast.walk(node)
        if isinstance(inner, ast.stmt)
    }


def test_a_file_imports_only_from_rooms_below_it() -> None:
    upward = [
        f"{module} imports {other}"
        for module, path in sources()
        if module != "routecost"
        for _, other in imports(path)
        if room_of(other) > room_of(module)
    ]
    assert not upward, "\n".join(upward)


def test_no_imports_run_in_a_circle() -> None:
    """Also inside a room, and also those that are only for types."""
    graph = {
        module: {other for _, other in imports(path)} for module, path in sources() if module != "routecost"
    }
    left = dict(graph)
    while free := [m for m, others in left.items() if not (others & left.keys()) - {m}]:
        for module in free:
            del left[module]
    assert not left, f"circle among {sorted(left)}"


def test_own_modules_are_imported_at_the_top() -> None:
    late = []
    for module, path in sources():
        tree = ast.parse(path.read_text())
        top = set(tree.body) | only_for_types(tree)
        late += [
            f"{module}:{node.lineno} imports {other}"
            for node, other in imports(path)
            if node.lineno not in {n.lineno for n in top} and module not in MAY_IMPORT_LATE
        ]
    assert not late, "\n".join(late)


def test_no_room_is_crowded_and_no_name_stands_twice() -> None:
    paths = [path for _, path in sources() if not path.name.startswith("__")]
    crowded = {f: n for f, n in Counter(p.parent for p in paths).items() if n > MOST_FILES}
    assert not crowded
    twice = [name for name, n in Counter(path.name for path in paths).items() if n > 1]
    assert not twice


@pytest.mark.parametrize("words", [["--help"], []])
def test_help_loads_nothing_heavy(words: list[str]) -> None:
    code = (
        "import sys\nfrom routecost.cli import main\n"
        f"try:\n    main({words!r})\nexcept SystemExit:\n    pass\n"
        f"print([m for m in {HEAVY!r} if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    assert run.stdout.splitlines()[-1] == "[]"
