"""The page served, and a browser that looks at it."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

CHROMIUM = shutil.which("chromium")
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-sync"]
PATIENCE_MS = 90_000  # a cold start measures and ranks on a busy machine

needs_browser = pytest.mark.skipif(
    CHROMIUM is None and not os.environ.get("ROUTECOST_NO_SKIP"), reason="needs Debian's chromium"
)


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The address of the page of a build."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [
        sys.executable,
        "-m",
        "routecost.cli",
        "page",
        str(folder),
        "--port",
        str(port),
        "--no-browser",
    ]
    server = subprocess.Popen(
        command, start_new_session=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        url = f"http://127.0.0.1:{port}"
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{url}/_stcore/health", timeout=1)
                break
            except OSError:
                time.sleep(0.2)
        yield url
    finally:
        os.killpg(server.pid, signal.SIGINT)
        try:
            server.wait(10)
        except subprocess.TimeoutExpired:
            os.killpg(server.pid, signal.SIGKILL)


@contextmanager
def looked_at(address: str) -> Iterator:
    """A browser's tab with the page in it."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as p:
        browser = p.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(viewport={"width": 1500, "height": 1100}, accept_downloads=True)
        page.set_default_timeout(PATIENCE_MS)
        page.goto(address)
        yield page
        browser.close()
