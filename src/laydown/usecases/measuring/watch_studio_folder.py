"""Watches the folder the studio names in its settings, for as long as the workbench runs."""

from __future__ import annotations

import logging
import threading
from functools import partial
from pathlib import Path

from laydown.kernel.errors import LaydownError
from laydown.records.folder_watcher import LOOK_SECONDS, STILL_SECONDS, FolderWatcher
from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.studio import Studio
from laydown.usecases.measuring.watch_folder import folder_lock, watch_folder

_logger = logging.getLogger(__name__)


def watch_studio_folder(
    records: Records,
    data_folder: Path,
    *,
    stop: threading.Event,
    look_seconds: float = LOOK_SECONDS.value,
    still_seconds: float = STILL_SECONDS.value,
) -> None:
    """Import for the studio's watched trial until ``stop`` is set; follows the settings as they change.

    Of several processes that serve the same data folder, one watches; another takes over when it ends.
    """
    while not stop.is_set():
        try:
            wanted = wanted_folder(records)
            if wanted is not None:
                folder, trial_id = wanted
                with folder_lock(data_folder, folder) as lock:
                    if lock.held:
                        watch_folder(
                            records,
                            FolderWatcher(folder, still_seconds=still_seconds),
                            trial_id,
                            stop=stop,
                            say=_logger.info,
                            go_on=partial(_is_still_wanted, records, wanted),
                            look_seconds=look_seconds,
                        )
        except Exception:
            # Whatever a folder or a file does, the workbench goes on, and so does the watch.
            _logger.exception("The watched folder could not be looked at")
        stop.wait(look_seconds)


def wanted_folder(records: Records) -> tuple[Path, str] | None:
    """The folder and the trial the studio's settings name, or None."""
    try:
        with records.look() as look:
            studio = look.seek(Studio, STUDIO_ID)
    except LaydownError:  # the database is out of reach for the moment
        return None
    if studio is None or not studio.watched_folder or studio.watched_trial_id is None:
        return None
    return Path(studio.watched_folder).expanduser(), studio.watched_trial_id


def _is_still_wanted(records: Records, wanted: tuple[Path, str]) -> bool:
    return wanted_folder(records) == wanted
