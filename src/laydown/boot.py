"""Builds what a face needs from the settings; the only reader of settings and of the user's folders."""

from __future__ import annotations

import os
from pathlib import Path

from laydown.compute.runner import ProcessRunner, Runner, SerialRunner

DATA_FOLDER = "LAYDOWN_DATA"
WORKERS = "LAYDOWN_WORKERS"


def data_folder() -> Path:
    """Where the user's comparisons are kept: ``LAYDOWN_DATA``, else the usual place of this system."""
    named = os.environ.get(DATA_FOLDER)
    if named:
        return Path(named).expanduser()
    import platformdirs

    return Path(platformdirs.user_data_dir("laydown", appauthor=False))


def runner() -> Runner:
    """Several processes where there are several cores; ``LAYDOWN_WORKERS=1`` keeps work in this one."""
    workers = int(os.environ.get(WORKERS) or os.cpu_count() or 1)
    return ProcessRunner(workers=workers) if workers > 1 else SerialRunner()
