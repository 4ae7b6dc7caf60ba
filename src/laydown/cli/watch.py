"""``laydown watch``."""

from __future__ import annotations

import threading
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from laydown.records.folder_watcher import FolderWatcher
    from laydown.records.ledger import Records


@click.command(short_help="Take in what an instrument's software exports.")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--trial", required=True, metavar="ID", help="The trial the readings belong to: id or name.")
@click.option("--once", is_flag=True, help="Take in what is there now, and end.")
def watch(folder: Path, trial: str, once: bool) -> None:
    """Take measurement files that appear in FOLDER into a trial, until Ctrl+C ends it.

    A file is taken once it is complete, and each content once ever; nothing in the folder is changed. The
    workbench does the same by itself for the folder named in the studio's settings. With --once the exit
    code is 1 when a file could not be used.
    """
    from laydown import boot
    from laydown.kernel.errors import RefusedInput
    from laydown.records.folder_watcher import FolderWatcher
    from laydown.usecases.measuring.watch_folder import folder_lock, watch_folder

    place = folder.expanduser()
    if not place.is_dir():
        raise RefusedInput("there is no such folder.", todo="Check the spelling.", file=str(folder))
    with closing(boot.records()) as records, folder_lock(boot.data_folder(), place) as lock:
        if not lock.held:
            raise RefusedInput(
                "another Laydown watches this folder already.",
                todo="Nothing is to be done.",
                file=str(folder),
            )
        trial_id = _trial_id(records, trial)
        watcher = FolderWatcher(place)
        if once:
            _once(records, watcher, trial_id)
            return
        click.echo(f"Watching {place}  (Ctrl+C ends it)")
        try:
            watch_folder(records, watcher, trial_id, stop=threading.Event(), say=click.echo)
        except KeyboardInterrupt:
            click.echo("")


def _once(records: Records, watcher: FolderWatcher, trial_id: str) -> None:
    """Rounds until every file that is there was dealt with."""
    from laydown.usecases.measuring.watch_folder import lines_of, look_round, pause

    stop, refused = threading.Event(), False
    while True:
        found = look_round(records, watcher, trial_id)
        for line in lines_of(found.imported):
            click.echo(line)
        refused = refused or bool(found.imported.refused) or bool(found.trouble)
        if found.trouble:
            click.echo(found.trouble, err=True)
        if found.trouble or not watcher.is_waiting:
            break
        pause(watcher, stop)
    if refused:
        raise SystemExit(1)


def _trial_id(records: Records, told: str) -> str:
    """The id of the trial of that id or name."""
    from laydown.kernel.errors import UnknownRecord
    from laydown.trials.trial import Trial

    with records.look() as look:
        if look.seek(Trial, told) is not None:
            return told
        named = look.find(Trial, name=told, removed_at=None)
    if len(named) != 1:
        many = "several trials are" if named else "no trial is"
        raise UnknownRecord(
            f'{many} called "{told}".', todo="Give its id, the last part of its page's address."
        )
    return named[0].id
