"""Import what an instrument's software exports into a folder: each content once, whatever happens between."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from hashlib import sha256 as hash_of
from pathlib import Path

from laydown.kernel.errors import LaydownError, RefusedInput
from laydown.records.folder_watcher import LOOK_SECONDS, FolderWatcher, SeenFile, wait_for_change
from laydown.records.ledger import Records
from laydown.records.process_lock import ProcessLock
from laydown.trials.measured import Reading
from laydown.trials.remarks import Note
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.measuring.attach_readings import NotTaken, attach_readings, content_id
from laydown.usecases.measuring.parsed_file import HandedIn

WATCHER = "the watched folder"
AT_ONCE = 20  # files held in memory together, and kept in one step
TOO_LARGE = "it is far larger than a measurement file needs to be."


@dataclass(frozen=True, slots=True)
class Imported:
    """What became of files that were found: readings kept, and files that could not be used."""

    readings: tuple[Reading, ...]
    refused: tuple[NotTaken, ...]


def import_files(records: Records, trial_id: str, found: Sequence[SeenFile]) -> Imported:
    """Take in files of the watched folder that never came before; what cannot be read becomes a note.

    The journal knows a content by its hash, also after its reading was taken away again, so that nothing
    comes back by itself and no complaint is made twice.

    Raises
    ------
    RefusedInput
        The trial is closed or in the trash; nothing was taken in.
    """
    told = [
        _imported(records, trial_id, found[start : start + AT_ONCE])
        for start in range(0, len(found), AT_ONCE)
    ]
    return Imported(
        tuple(reading for one in told for reading in one.readings),
        tuple(refusal for one in told for refusal in one.refused),
    )


def _imported(records: Records, trial_id: str, found: Sequence[SeenFile]) -> Imported:
    new = _never_seen(records, found)
    files, refused = [], [NotTaken(one.name, f"{one.name}: {TOO_LARGE}") for one in new if one.too_large]
    hashes = {one.name: one.sha256 for one in new}
    for one in new:
        if one.too_large:
            continue
        try:
            content = one.path.read_bytes()
        except OSError:  # gone again: there is nothing to say about it
            continue
        if hash_of(content).hexdigest() == one.sha256:
            files.append(HandedIn(one.name, content))
    readings: tuple[Reading, ...] = ()
    if files:
        taken = attach_readings(records, trial_id, files, who=WATCHER, source="watched folder").thing
        readings = taken.readings
        refused += [one for one in taken.not_taken if not one.known]
    if refused:
        _note(records, trial_id, refused, hashes)
    return Imported(readings, tuple(refused))


@dataclass(frozen=True, slots=True)
class Round:
    """One look at a folder: what was imported, and what stands in the way, "" where nothing does."""

    imported: Imported
    trouble: str


def look_round(records: Records, watcher: FolderWatcher, trial_id: str) -> Round:
    """Import what is complete now; what cannot be kept now is handed over again the next time."""
    found = watcher.complete_files()
    nothing = Imported((), ())
    if not found:
        return Round(nothing, watcher.trouble)
    try:
        return Round(import_files(records, trial_id, found), watcher.trouble)
    except LaydownError as error:
        for one in found:
            watcher.hand_back(one)
        return Round(nothing, str(error))


def watch_folder(
    records: Records,
    watcher: FolderWatcher,
    trial_id: str,
    *,
    stop: threading.Event,
    say: Callable[[str], None],
    go_on: Callable[[], bool] = lambda: True,
    look_seconds: float = LOOK_SECONDS.value,
) -> None:
    """Import whatever appears in a folder until ``stop`` is set or ``go_on`` says no, telling it to ``say``.

    What stands in the way (a drive that is not there, a database that is busy) is told once and tried again.
    """
    told = ""
    while not stop.is_set() and go_on():
        found = look_round(records, watcher, trial_id)
        for line in lines_of(found.imported):
            say(line)
        if found.trouble and found.trouble != told:
            say(found.trouble)
        told = found.trouble
        pause(watcher, stop, look_seconds=look_seconds)


def pause(watcher: FolderWatcher, stop: threading.Event, *, look_seconds: float = LOOK_SECONDS.value) -> None:
    """Wait for the next round: a moment while a file is arriving, else until something happens."""
    if watcher.is_waiting:
        stop.wait(watcher.still_seconds / 2)
    else:
        wait_for_change(watcher.folder, stop, seconds=look_seconds)


def lines_of(imported: Imported) -> tuple[str, ...]:
    """What became of each file, in a line."""
    received = (
        f"Received {one.file_name}{'' if one.sheet_id else ', which waits for its sheet'}."
        for one in imported.readings
    )
    return (*received, *(f"Could not use {one.why}" for one in imported.refused))


def folder_lock(data_folder: Path, folder: Path) -> ProcessLock:
    """The lock that keeps two processes of this computer from watching one folder."""
    mark = hash_of(str(folder.expanduser().absolute()).encode()).hexdigest()[:16]
    return ProcessLock(data_folder / f"watching-{mark}.lock")


def refused_notes(notes: Sequence[Note]) -> tuple[Note, ...]:
    """Of some notes those that say that a file of the watched folder could not be used."""
    return tuple(note for note in notes if note.by == WATCHER)


def dismiss_note(records: Records, note_id: str, *, who: str) -> str:
    """Take away a note about a file of the watched folder; the id of the entry.

    Raises
    ------
    RefusedInput
        It is another note.
    """
    with records.work("dismissed", who=who) as work:
        note = work.get(Note, note_id)
        if note.by != WATCHER or note.trial_id is None:
            raise RefusedInput("this note was not made by the watched folder.", todo="Look at the notes.")
        open_trial(work, note.trial_id)
        work.say(f"“{note.words}”")
        work.remove(Note, note_id)
        return work.entry_id


def _never_seen(records: Records, found: Sequence[SeenFile]) -> list[SeenFile]:
    with records.look() as look:
        return [one for one in found if not look.entries(record_id=content_id(one.sha256), limit=1)]


def _note(records: Records, trial_id: str, refused: Sequence[NotTaken], hashes: dict[str, str]) -> None:
    """Note what could not be read, each under the mark of its content."""
    count = "a file" if len(refused) == 1 else f"{len(refused)} files"
    with records.work("could not read", who=WATCHER, words=count) as work:
        open_trial(work, trial_id)
        for one in refused:
            work.add(
                Note(
                    id=content_id(hashes[one.name]),
                    trial_id=trial_id,
                    about=trial_id,
                    at=work.now,
                    by=WATCHER,
                    words=one.why,
                )
            )
