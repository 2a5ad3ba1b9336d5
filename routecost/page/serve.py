"""Starts the page: Streamlit in a process of its own, ended with this one."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from routecost.core.errors import InputError

THEME = {
    "base": "light",
    "primaryColor": "#3f6f6a",
    "backgroundColor": "#fbfbf8",
    "secondaryBackgroundColor": "#eef1ee",
    "textColor": "#22303c",
}


def serve(build: str | None, port: int | None, *, browser: bool = True) -> int:
    """Serve the page for a build until it is interrupted; returns the exit code."""
    if build is not None and not Path(build).is_dir():
        mend = f"name a build's folder, or start one with `routecost new {build}`"
        raise InputError.of(build, "", "there is no such folder", mend)
    if port is not None and not 1 <= port <= 65535:
        raise InputError.of("command line", "--port", f"{port} is not a port", "write 1 to 65535")
    command = [sys.executable, "-m", "streamlit", "run", str(Path(__file__).with_name("run.py"))]
    command += ["--browser.gatherUsageStats", "false", "--server.headless", str(not browser).lower()]
    command += ["--client.toolbarMode", "minimal"]
    command += [word for key, value in THEME.items() for word in (f"--theme.{key}", value)]
    if port is not None:
        command += ["--server.port", str(port)]
    command += ["--", *([str(Path(build).resolve())] if build else [])]
    try:
        return subprocess.run(command, check=False).returncode
    except KeyboardInterrupt:
        return 0
