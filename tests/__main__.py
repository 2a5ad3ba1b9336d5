"""All that has to hold, in one run: `python -m tests`. Formatting, lint and types beside the tests."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
STATIC = (
    ("ruff", "format", "--check", "--quiet", "."),
    ("ruff", "check", "--quiet", "."),
    ("mypy",),
)
TESTS = ("pytest", "-n", "2", "--dist", "loadfile")


def main() -> int:
    """Run every check, also after one has failed; the exit code is 0 only when all hold."""
    # they fill the time in which a worker of the tests waits for the other one
    beside = [(check, _start(check, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)) for check in STATIC]
    failed = [TESTS] if _start(TESTS).wait() else []
    for check, process in beside:
        output, _ = process.communicate()
        print(output.decode(), end="")
        if process.returncode:
            failed.append(check)
    for check in failed:
        print("FAILED:", *check)
    return 1 if failed else 0


def _start(check: tuple[str, ...], **where: int) -> subprocess.Popen[bytes]:
    return subprocess.Popen([sys.executable, "-m", *check], cwd=ROOT, **where)


if __name__ == "__main__":
    sys.exit(main())
