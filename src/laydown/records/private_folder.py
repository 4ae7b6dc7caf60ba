"""Makes folders that only their owner may look into."""

from __future__ import annotations

from pathlib import Path


def make_private_folder(folder: Path) -> None:
    """Make a folder for its owner alone, where the system has such a thing; one that is there stays as it is.

    Whoever opened theirs to others meant to.
    """
    folder.parent.mkdir(parents=True, exist_ok=True)
    folder.mkdir(mode=0o700, exist_ok=True)
