"""The solver writes nothing, and leaves the output to others while it runs."""

from __future__ import annotations

import subprocess
import sys

CODE = """
import threading
from types import SimpleNamespace
import numpy as np
from scipy.sparse import csr_array
from routecost.planning.choosing.solver import UNLIMITED, _milp

def solve(seed):
    # as in a bill: whole packs that cover what chosen options need, one option for each part
    rng = np.random.default_rng(seed)
    for _ in range(8):
        parts, each, packs = 6, 5, 4
        options = parts * each
        one = np.kron(np.eye(parts), np.ones(each))
        need = rng.uniform(0.0, 900.0, size=(packs, options)) * (rng.random((packs, options)) < 0.5)
        matrix = np.block([[one, np.zeros((parts, packs))], [-need, 1000.0 * np.eye(packs)]])
        model = SimpleNamespace(
            measures={"full": np.append(rng.uniform(1.0, 50.0, options), rng.uniform(10.0, 40.0, packs))},
            upper=np.append(np.ones(options), np.full(packs, 20.0)), matrix=csr_array(matrix),
            low=np.append(np.ones(parts), np.zeros(packs)),
            high=np.append(np.ones(parts), np.full(packs, np.inf)),
        )
        found = _milp(model, {"full": 1.0}, np.ones(options + packs, dtype=int), 0.0, UNLIMITED)
        assert found.status == 0

threads = [threading.Thread(target=solve, args=(seed,)) for seed in (1, 2)]
for thread in threads:
    thread.start()
lines = 0
while any(thread.is_alive() for thread in threads):
    print("line", lines := lines + 1, flush=True)
    threads[0].join(0.01)
print("end", lines, flush=True)
"""


def test_two_threads_that_solve_at_once_print_nothing_and_take_no_output_away() -> None:
    run = subprocess.run([sys.executable, "-c", CODE], capture_output=True, text=True, timeout=120)
    assert run.stderr == ""
    *lines, end = run.stdout.splitlines()
    assert lines == [f"line {i}" for i in range(1, len(lines) + 1)]
    assert end == f"end {len(lines)}"
    assert lines
