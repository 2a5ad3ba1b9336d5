"""How long the second `rank` of the demo takes, over importing what it imports.

    python tests/bench/bench_second_run.py [BUILD]

Each run is a process of its own; runs alternate with processes that import the same modules and do nothing else,
and the fastest of each counts: the rest is what the machine did besides. Nothing is asserted.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

os.environ.setdefault("OMP_NUM_THREADS", "1")
# compiled modules are kept for the time of the bench, as they are where the program is installed
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

ROOT = Path(__file__).resolve().parents[2]
RUNS = 15
RANK = "from routecost.cli import main; main(['rank', {build!r}, '--json'])"
CALLS = "import routecost; routecost.rank(routecost.load_build({build!r}))"
LOADED = "import sys; print(*(m for m in sys.modules if m not in before), file=sys.stderr)"


def run(code: str) -> tuple[float, str]:
    """Seconds that a new process takes, and what it writes on its error stream."""
    start = perf_counter()
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    return perf_counter() - start, done.stderr


def measure(name: str, code: str) -> None:
    run(code)
    modules = run(f"import sys; before = set(sys.modules); {code}; {LOADED}")[1].split()
    # a module that another makes, such as `os.path`, cannot be imported by name in every case
    imports = "import importlib, contextlib\n" + "\n".join(
        f"with contextlib.suppress(ImportError): importlib.import_module({module!r})" for module in modules
    )
    pairs = [(run(imports)[0], run(code)[0]) for _ in range(RUNS)]
    alone, whole = (1000 * min(times) for times in zip(*pairs, strict=True))
    print(f"{name:16} {alone:9.0f} {whole:9.0f} {whole - alone:9.0f}")


def main() -> None:
    with tempfile.TemporaryDirectory() as scratch:
        os.environ["PYTHONPYCACHEPREFIX"] = f"{scratch}/compiled"
        build = sys.argv[1] if len(sys.argv) > 1 else f"{scratch}/demo"
        if not Path(build).exists():
            run(f"from routecost.cli import main; main(['demo', {build!r}])")
        print(f"{'ms':16} {'imports':>9} {'whole':>9} {'over':>9}")
        measure("rank --json", RANK.format(build=build))
        measure("load and rank", CALLS.format(build=build))


if __name__ == "__main__":
    main()
