"""What all tests share: one hypothesis profile, and the demo build."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import settings

from routecost.bill.rank_bill import rank
from routecost.demo.demo_build import write_demo

# the same examples every run, and no deadline on a busy machine
settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def demo_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo build, written and measured once for all workers of a run."""
    # with several workers, each has a folder below a common one
    root = tmp_path_factory.getbasetemp()
    root = root.parent if os.environ.get("PYTEST_XDIST_WORKER") else root
    folder = root / "ant-habitat"
    with FileLock(root / "ant-habitat.lock"):
        if not (folder / "build.toml").exists():
            write_demo(folder)
            rank(folder)
    return folder
