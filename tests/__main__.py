"""All that has to hold, in one run: `python -m tests`. Formatting, lint, types, then every test."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CHECKS = (
    ("ruff", "format", "--check", "--quiet", "."),
    ("ruff", "check", "--quiet", "."),
    ("mypy",),
    ("pytest", "-n", "2", "--dist", "loadfile"),
)


def main() -> int:
    """Run every check, also after one has failed; the exit code is 0 only when all hold."""
    failed = [
        check for check in CHECKS if subprocess.run([sys.executable, "-m", *check], cwd=ROOT).returncode
    ]
    for check in failed:
        print("FAILED:", *check)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
