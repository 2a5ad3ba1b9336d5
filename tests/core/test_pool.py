"""Work over processes gives what a plain loop gives, in its order, and breaks off cleanly."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from multiprocessing import spawn
from pathlib import Path

import pytest

from routecost.core.errors import InputError
from routecost.core.pool import in_parallel


def square(number: int) -> int:
    return number * number


def where(number: int) -> int:
    return os.getpid()


def refuse(number: int) -> int:
    raise InputError.of("lid.stl", "", "the file is empty", "export the mesh again")


def die_in_a_worker(parent: int) -> int:
    if os.getpid() != parent:
        os.kill(os.getpid(), signal.SIGTERM)
    return parent


@pytest.mark.parametrize("workers", [1, 2])
def test_results_keep_the_order_of_the_tasks(workers: int) -> None:
    seen: list[tuple[int, int]] = []
    tasks = [3, 1, 2, 5]
    results = in_parallel(
        square, tasks, workers=workers, on_done=lambda task, result: seen.append((task, result))
    )
    assert results == [9, 1, 4, 25]
    assert sorted(seen) == [(1, 1), (2, 4), (3, 9), (5, 25)]


def test_little_work_starts_no_process_and_much_work_does() -> None:
    assert set(in_parallel(where, [1, 2], workers=2, expected_s=lambda task: 0.1)) == {os.getpid()}
    assert os.getpid() not in in_parallel(where, [1, 2], workers=2, expected_s=lambda task: 60.0)


def test_no_tasks_no_results() -> None:
    assert in_parallel(square, []) == []


def test_an_error_comes_home_as_itself() -> None:
    with pytest.raises(InputError) as caught:
        in_parallel(refuse, [1, 2], workers=2)
    assert caught.value.faults[0].file == "lid.stl"


def test_work_of_a_killed_worker_is_done_here() -> None:
    assert in_parallel(die_in_a_worker, [os.getpid()] * 2, workers=2) == [os.getpid()] * 2


def run_script(tmp_path: Path, text: str) -> subprocess.CompletedProcess[str]:
    script = tmp_path / "script.py"
    script.write_text(text)
    return subprocess.run([sys.executable, str(script)], capture_output=True, text=True, timeout=60)


def test_a_script_without_a_main_guard_is_run_once_in_one_process(tmp_path: Path) -> None:
    run = run_script(
        tmp_path,
        "from routecost.core.pool import in_parallel, main_can_be_imported\n"
        "from tests.core.test_pool import where\n"
        "import os\n"
        "print(main_can_be_imported(), set(in_parallel(where, [1, 2], workers=2)) == {os.getpid()})\n",
    )
    assert (run.returncode, run.stdout, run.stderr) == (0, "False True\n", "")


@pytest.mark.parametrize("guard", ["if __name__ == '__main__':", "if '__main__' == __name__ and True:"])
def test_a_script_with_a_guard_uses_processes(tmp_path: Path, guard: str) -> None:
    run = run_script(
        tmp_path,
        "from routecost.core.pool import in_parallel\n"
        "from tests.core.test_pool import where\n"
        "import os\n"
        f"{guard}\n"
        "    print(os.getpid() in in_parallel(where, [1, 2], workers=2))\n",
    )
    assert (run.returncode, run.stdout, run.stderr) == (0, "False\n", "")


@pytest.mark.parametrize(
    "how",
    [["-c", "from routecost.core.pool import main_can_be_imported as m; print(m())"], ["-m", "package"]],
    ids=["no file", "package"],
)
def test_what_spawning_does_not_import_again_can_be_left_out(how: list[str], tmp_path: Path) -> None:
    (tmp_path / "package").mkdir()
    (tmp_path / "package" / "__main__.py").write_text(
        "from routecost.core.pool import main_can_be_imported as m\nprint(m())\n"
    )
    path = os.pathsep.join([str(tmp_path), *sys.path])
    run = subprocess.run(
        [sys.executable, *how], capture_output=True, text=True, env={**os.environ, "PYTHONPATH": path}
    )
    assert (run.stdout, run.stderr) == ("True\n", "")


def test_the_standard_library_is_left_as_it_is() -> None:
    before = {name: value for name, value in vars(spawn).items() if callable(value)}
    assert in_parallel(square, [1, 2], workers=2) == [1, 4]
    assert before == {name: value for name, value in vars(spawn).items() if callable(value)}


def test_an_executor_that_is_handed_in_does_the_work_and_is_left_open() -> None:
    with ThreadPoolExecutor(2) as executor:
        seen: list[int] = []
        results = in_parallel(
            square,
            [3, 1],
            executor=executor,
            expected_s=lambda task: 0.0,
            on_done=lambda _, r: seen.append(r),
        )
        assert (results, sorted(seen)) == ([9, 1], [1, 9])
        assert executor.submit(square, 2).result() == 4
        with pytest.raises(InputError):
            in_parallel(refuse, [1, 2], executor=executor)


def test_work_of_the_script_itself_is_found_behind_its_guard(tmp_path: Path) -> None:
    run = run_script(
        tmp_path,
        "from routecost.core.pool import in_parallel\n"
        "def double(task):\n"
        "    return 2 * task\n"
        "if __name__ == '__main__':\n"
        "    print(in_parallel(double, [1, 2], workers=2))\n",
    )
    assert (run.returncode, run.stdout, run.stderr) == (0, "[2, 4]\n", "")


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
def test_a_break_ends_the_run_at_once_and_leaves_no_process(tmp_path: Path) -> None:
    script = tmp_path / "long.py"
    script.write_text(
        "import os, time\n"
        "from pathlib import Path\n"
        "from routecost.core.pool import in_parallel\n"
        "def slow(task):\n"
        f"    Path({str(tmp_path)!r}, f'{{os.getpid()}}.pid').touch()\n"
        "    time.sleep(60)\n"
        "if __name__ == '__main__':\n"
        "    in_parallel(slow, [1, 2, 3, 4], workers=2)\n"
    )
    run = subprocess.Popen([sys.executable, str(script)], start_new_session=True, stderr=subprocess.PIPE)
    deadline = time.monotonic() + 30
    while len(pids := list(tmp_path.glob("*.pid"))) < 2:
        assert time.monotonic() < deadline
        time.sleep(0.05)
    os.killpg(run.pid, signal.SIGINT)  # as the terminal does
    _, complaint = run.communicate(timeout=15)
    assert run.returncode != 0
    assert complaint.count(b"KeyboardInterrupt") == 1
    assert b"Error" not in complaint
    for pid in pids:
        with pytest.raises(ProcessLookupError):
            os.kill(int(pid.stem), 0)
