"""How long a full measure takes, beside trimesh on the same file, and how it grows.

    python tests/bench/bench_measure.py

Each line of the table is a process of its own, so that its peak memory is its own. Imports and whatever else is
done once are taken out by a small part that goes first, for both libraries; then the least of a few rounds
counts, step by step, as other work on the machine only ever adds. Seconds are given twice: those of the processor,
and those on the clock; both libraries use one thread. Poses are taken along with the reach, which is asked first.
Nothing is asserted: times hang on the machine; what to look at are the ratios and the growth.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

os.environ.setdefault("OMP_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

SIZES = (10_000, 100_000, 1_000_000)
FIRST = 2_000
"""Faces of the small part that goes first."""
ROUNDS = 3
Times = dict[str, tuple[float, float]]
"""By step, seconds of the processor and on the clock."""
STL = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def write_part(path: Path, faces: int) -> None:
    """A bumpy casting of about 100 mm with a few dozen hollows, `faces` triangles give or take 1 %, as binary STL."""
    from manifold3d import Manifold

    ball = Manifold.sphere(50.0, 4 * round(np.sqrt(faces / 8))).to_mesh64()
    points = np.asarray(ball.vert_properties)[:, :3]
    x, y, z = points.T
    bumps = (
        1 + 0.15 * np.sin(x / 7) * np.cos(y / 9 + 1) * np.sin(z / 6) + 0.03 * np.sin(x / 2) * np.sin(y / 3)
    )
    record = np.zeros(len(ball.tri_verts), STL)
    record["corners"] = (points * bumps[:, None])[np.asarray(ball.tri_verts)]
    path.write_bytes(b"\0" * 80 + np.uint32(len(record)).tobytes() + record.tobytes())


def ours(path: Path) -> Times:
    from routecost.mesh.measuring.shape import Shape
    from routecost.mesh.reading.mesh_reader import read_mesh

    times: Times = {}
    mesh = timed(times, "read", lambda: read_mesh(path).mesh)
    shape = Shape(mesh)
    timed(times, "solid", lambda: shape.solid)
    timed(times, "walls", lambda: shape.walls)
    timed(times, "reach", lambda: shape.reach())
    timed(times, "poses", lambda: shape.poses)
    return times


def theirs(path: Path) -> Times:
    import trimesh

    times: Times = {}
    mesh = timed(times, "load", lambda: trimesh.load(path))
    timed(times, "watertight", lambda: mesh.is_watertight)
    timed(times, "mass", lambda: mesh.mass_properties)
    timed(times, "hull", lambda: mesh.convex_hull)
    timed(times, "split", lambda: mesh.split())
    return times


def one_direction(path: Path) -> Times:
    """Parts of a single pose, without what is shared among poses."""
    from routecost.mesh.geometry.rays.ray_columns import Columns
    from routecost.mesh.measuring.peaks import Neighbours, count_peaks
    from routecost.mesh.measuring.poses import measure_pose
    from routecost.mesh.reading.mesh_reader import read_mesh

    times: Times = {}
    mesh = read_mesh(path).mesh
    up = (1.0, 2.0, 3.0)
    columns = timed(times, "columns", lambda: Columns.of(mesh, up))
    neighbours = timed(times, "neighbours", lambda: Neighbours.of(mesh))
    timed(times, "peaks", lambda: count_peaks(mesh, columns, neighbours))
    timed(times, "whole pose", lambda: measure_pose(mesh, up))
    return times


def timed(times: Times, name: str, work: Callable[[], Any]) -> Any:
    processor, clock = process_time(), perf_counter()
    result = work()
    times[name] = process_time() - processor, perf_counter() - clock
    return result


RUNS: dict[str, Callable[[Path], Times]] = {
    "routecost": ours,
    "trimesh": theirs,
    "one pose": one_direction,
}


def run(kind: str, first: Path, path: Path) -> None:
    """In a process of its own: times and peak memory as one line of JSON."""
    RUNS[kind](first)
    rounds = [RUNS[kind](path)]
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024  # of one measure, not of several
    rounds += [RUNS[kind](path) for _ in range(ROUNDS - 1)]
    times = {name: [min(taken[name][k] for taken in rounds) for k in range(2)] for name in rounds[0]}
    sys.stdout.write(json.dumps({"times": times, "peak_mb": peak}) + "\n")


def main() -> None:
    sys.stdout.write(
        "One thread each; x: times what trimesh takes\n"
        f"{'faces':>9}  {'run':<10}{'processor s':>12}{'clock s':>15}{'peak MB':>9}  parts of it, processor s\n"
    )
    with tempfile.TemporaryDirectory() as folder:
        first = Path(folder) / "first.stl"
        write_part(first, FIRST)
        for faces in SIZES:
            path = Path(folder) / f"part_{faces}.stl"
            write_part(path, faces)
            found = {kind: answer(kind, first, path) for kind in RUNS}
            beside = totals(found["trimesh"]["times"])
            for kind, told in found.items():
                cells = (
                    f"{seconds:.2f}" + (f" {seconds / other:5.1f} x" if kind == "routecost" else " " * 8)
                    for seconds, other in zip(totals(told["times"]), beside, strict=True)
                )
                columns = "".join(f"{cell:>15}" for cell in cells)
                parts = "  ".join(f"{name} {taken[0]:.2f}" for name, taken in told["times"].items())
                sys.stdout.write(f"{faces:>9,}  {kind:<10}{columns}{told['peak_mb']:>6.0f}  {parts}\n")
            sys.stdout.flush()


def answer(kind: str, first: Path, path: Path) -> dict[str, Any]:
    command = [sys.executable, __file__, kind, str(first), str(path)]
    told: dict[str, Any] = json.loads(
        subprocess.run(command, check=True, capture_output=True, text=True).stdout
    )
    return told


def totals(times: Times) -> tuple[float, float]:
    return sum(taken[0] for taken in times.values()), sum(taken[1] for taken in times.values())


if __name__ == "__main__":
    if len(sys.argv) == 4:
        run(sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3]))
    else:
        main()
