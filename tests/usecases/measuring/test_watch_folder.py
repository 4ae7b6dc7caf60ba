"""The watched folder: imports once ever, complains once, survives a restart, touches nothing."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from laydown.kernel.errors import RefusedInput
from laydown.records.folder_watcher import FolderWatcher
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.measured import Reading
from laydown.trials.remarks import Note
from laydown.trials.studio import Studio
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.watch_folder import (
    WATCHER,
    Round,
    dismiss_note,
    folder_lock,
    lines_of,
    look_round,
)
from laydown.usecases.measuring.watch_studio_folder import wanted_folder, watch_studio_folder
from laydown.usecases.undo import undo

Scans = Callable[..., list[HandedIn]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "exports"
    folder.mkdir()
    return folder


@pytest.fixture
def rounds(bench, folder: Path) -> Callable[[], Round]:
    """Look at the folder with a watcher of its own, as after a restart, until all is complete."""

    def go() -> Round:
        watcher = FolderWatcher(folder, still_seconds=0.0)
        return look_round(bench.records, watcher, "spring")

    return go


def notes(bench) -> tuple[Note, ...]:
    with bench.records.look() as look:
        return look.find(Note, trial_id="spring", by=WATCHER)


def test_what_is_exported_is_imported_once_ever(bench, folder, rounds, scans: Scans) -> None:
    one, two = scans(("M1",), 1)
    (folder / one.name).write_bytes(one.content)
    found = rounds()
    assert [item.file_name for item in found.imported.readings] == ["scan K2-M1.txt"]
    (reading,) = bench.readings("K2")
    assert (reading.source, reading.by) == ("watched folder", WATCHER)
    assert rounds().imported.readings == ()  # a restart
    (folder / "renamed.txt").write_bytes(one.content)
    assert rounds().imported.readings == ()
    (folder / two.name).write_bytes(two.content)
    assert [item.file_name for item in rounds().imported.readings] == ["scan H5-M1.txt"]
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == {
        one.name: one.content,
        "renamed.txt": one.content,
        two.name: two.content,
    }


def test_what_was_taken_away_does_not_come_back_by_itself(bench, folder, rounds, scans: Scans) -> None:
    (one, *_) = scans(("M1",), 1)
    (folder / one.name).write_bytes(one.content)
    rounds()
    with bench.records.look() as look:
        entry = look.entries(trial_id="spring", limit=1)[0]
    undo(bench.records, entry.id, who="Ada")
    assert rounds().imported.readings == ()
    assert bench.readings("K2") == ()
    # By hand it may come again, and the folder then leaves it alone as well.
    attach_readings(bench.records, "spring", [one], who="Ada")
    assert rounds().imported.readings == ()
    assert len(bench.readings("K2")) == 1


def test_what_was_dropped_by_hand_is_not_imported_again(bench, folder, rounds, scans: Scans) -> None:
    (one, *_) = scans(("M1",), 1)
    attach_readings(bench.records, "spring", [one], who="Ada")
    (folder / "export.txt").write_bytes(one.content)
    assert rounds() == Round(imported=rounds().imported, trouble="")
    assert len(bench.facts.readings) == 1


def test_a_file_that_cannot_be_read_is_told_of_once(bench, folder, rounds, scans: Scans) -> None:
    (one, *_) = scans(("M1",), 1)
    (folder / "letter.txt").write_bytes(b"Dear Ada, the roll has arrived.\n")
    (folder / one.name).write_bytes(one.content)
    found = rounds()
    assert len(found.imported.readings) == 1
    assert lines_of(found.imported)[1].startswith("Could not use letter.txt: ")
    (note,) = notes(bench)
    assert note.words.startswith("letter.txt: ")
    assert "Use a CGATS, CxF or CSV export" in note.words
    assert rounds().imported.refused == ()
    dismissed = dismiss_note(bench.records, note.id, who="Ada")
    assert rounds().imported.refused == ()
    assert notes(bench) == ()
    undo(bench.records, dismissed, who="Ada")
    assert notes(bench) == (note,)


def test_a_note_by_a_person_is_not_dismissed_here(bench) -> None:
    with bench.records.work("noted", who="Ada") as work:
        work.add(Note(id="n", trial_id="spring", about="spring", at=work.now, by="Ada", words="Nice."))
    with pytest.raises(RefusedInput, match="not made by the watched folder"):
        dismiss_note(bench.records, "n", who="Ada")


def test_a_closed_trial_lets_files_wait(bench, folder, scans: Scans) -> None:
    (one, *_) = scans(("M1",), 1)
    (folder / one.name).write_bytes(one.content)
    trial = bench.facts.trial
    with bench.records.work("closed", who="Ada") as work:
        work.change(replace(trial, closed_at=work.now))
    watcher = FolderWatcher(folder, still_seconds=0.0)
    found = look_round(bench.records, watcher, "spring")
    assert "is closed" in found.trouble
    with bench.records.work("opened", who="Ada") as work:
        work.change(trial)
    assert len(look_round(bench.records, watcher, "spring").imported.readings) == 1


@contextmanager
def watched(bench, data: Path) -> Iterator[None]:
    stop = threading.Event()
    thread = threading.Thread(
        target=watch_studio_folder,
        args=(bench.records, data),
        kwargs={"stop": stop, "look_seconds": 0.2, "still_seconds": 0.2},
    )
    thread.start()
    try:
        yield
    finally:
        stop.set()
        thread.join(30)
        assert not thread.is_alive()


def until(true: Callable[[], object]) -> None:
    deadline = threading.Event()
    for _ in range(300):
        if true():
            return
        deadline.wait(0.1)
    raise AssertionError("it never came true")


def test_the_studios_settings_are_followed(bench, folder, scans: Scans, tmp_path: Path) -> None:
    one, two = scans(("M1",), 1)
    (folder / one.name).write_bytes(one.content)
    assert wanted_folder(bench.records) is None
    with watched(bench, tmp_path / "data"):
        with bench.records.work("set", who="Ada") as work:
            studio = work.get(Studio, STUDIO_ID)
            work.change(replace(studio, watched_folder=str(folder), watched_trial_id="spring"))
        until(lambda: bench.readings("K2"))
        with bench.records.work("set", who="Ada") as work:
            work.change(studio)
        until(lambda: _free(tmp_path / "data", folder))
        (folder / two.name).write_bytes(two.content)
        threading.Event().wait(1.0)
    assert bench.readings("H5") == ()


def _free(data: Path, folder: Path) -> bool:
    with folder_lock(data, folder) as lock:
        return lock.held


def test_one_of_two_processes_watches(bench, folder, scans: Scans, tmp_path: Path) -> None:
    """Locks are between processes; here the lock is taken as another process would take it."""
    (one, *_) = scans(("M1",), 1)
    (folder / one.name).write_bytes(one.content)
    with bench.records.work("set", who="Ada") as work:
        studio = work.get(Studio, STUDIO_ID)
        work.change(replace(studio, watched_folder=str(folder), watched_trial_id="spring"))
    with folder_lock(tmp_path / "data", folder) as held:
        assert held.held
        with watched(bench, tmp_path / "data"):
            threading.Event().wait(1.5)
            assert bench.facts.readings == ()
    with watched(bench, tmp_path / "data"):
        until(lambda: bench.facts.readings)
    with bench.records.look() as look:
        assert len(look.find(Reading)) == 1
