"""Watching a folder: complete files only, each once, and nothing in it is touched."""

from __future__ import annotations

import contextlib
import hashlib
import os
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from laydown.records.folder_watcher import LARGEST, FolderWatcher, wait_for_change
from laydown.records.process_lock import ProcessLock


class Steady:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def steady() -> Steady:
    return Steady()


@pytest.fixture
def watcher(tmp_path: Path, steady: Steady) -> FolderWatcher:
    return FolderWatcher(tmp_path, clock=steady, still_seconds=3.0)


def names(watcher: FolderWatcher) -> list[str]:
    return [one.name for one in watcher.complete_files()]


def test_a_file_is_handed_over_once_it_stands_still(
    tmp_path: Path, watcher: FolderWatcher, steady: Steady
) -> None:
    file = tmp_path / "K7.txt"
    file.write_bytes(b"half")
    assert names(watcher) == []
    steady.now = 2.0
    file.write_bytes(b"half and the rest")
    assert names(watcher) == []
    steady.now = 4.0
    assert names(watcher) == []
    assert watcher.is_waiting
    steady.now = 5.1
    (seen,) = watcher.complete_files()
    assert (seen.name, seen.sha256) == ("K7.txt", hashlib.sha256(b"half and the rest").hexdigest())
    assert not watcher.is_waiting
    steady.now = 99.0
    assert names(watcher) == []
    assert file.read_bytes() == b"half and the rest"


def test_a_file_written_again_is_handed_over_again(
    tmp_path: Path, watcher: FolderWatcher, steady: Steady
) -> None:
    (tmp_path / "K7.txt").write_bytes(b"first")
    names(watcher)
    steady.now = 4.0
    assert names(watcher) == ["K7.txt"]
    (tmp_path / "K7.txt").write_bytes(b"second reading")
    names(watcher)
    steady.now = 8.0
    assert names(watcher) == ["K7.txt"]


def test_folders_inside_count_and_what_is_no_reading_does_not(
    tmp_path: Path, watcher: FolderWatcher, steady: Steady
) -> None:
    (tmp_path / "job 1" / "day 2").mkdir(parents=True)
    (tmp_path / "job 1" / "day 2" / "K7.txt").write_bytes(b"x")
    for name in (".hidden", "~lock.txt", "photo.JPG", "K7.txt.part", "empty.txt"):
        (tmp_path / name).write_bytes(b"" if name == "empty.txt" else b"x")
    names(watcher)
    steady.now = 4.0
    assert names(watcher) == ["job 1/day 2/K7.txt"]


def test_a_file_too_large_is_not_read(tmp_path: Path, watcher: FolderWatcher, steady: Steady) -> None:
    with (tmp_path / "film.txt").open("wb") as file:
        file.truncate(int(LARGEST.value) + 1)
    names(watcher)
    steady.now = 4.0
    (seen,) = watcher.complete_files()
    assert seen.too_large


def test_a_file_handed_back_comes_again(tmp_path: Path, watcher: FolderWatcher, steady: Steady) -> None:
    (tmp_path / "K7.txt").write_bytes(b"x")
    names(watcher)
    steady.now = 4.0
    (seen,) = watcher.complete_files()
    watcher.hand_back(seen)
    names(watcher)
    steady.now = 8.0
    assert names(watcher) == ["K7.txt"]


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="needs a file one may not read")
def test_a_file_that_is_held_shut_waits(tmp_path: Path, watcher: FolderWatcher, steady: Steady) -> None:
    file = tmp_path / "K7.txt"
    file.write_bytes(b"x")
    file.chmod(0)
    names(watcher)
    steady.now = 4.0
    assert names(watcher) == []
    file.chmod(0o600)
    assert names(watcher) == ["K7.txt"]


def test_a_folder_that_is_not_there_is_told_of_and_waited_for(tmp_path: Path, steady: Steady) -> None:
    watcher = FolderWatcher(tmp_path / "drive", clock=steady, still_seconds=3.0)
    assert names(watcher) == []
    assert "cannot be read" in watcher.trouble
    (tmp_path / "drive").mkdir()
    (tmp_path / "drive" / "K7.txt").write_bytes(b"x")
    names(watcher)
    steady.now = 4.0
    assert names(watcher) == ["K7.txt"]
    assert watcher.trouble == ""


def test_what_goes_or_is_shut_while_it_is_looked_at_keeps_nothing_else_back(
    tmp_path: Path, watcher: FolderWatcher, steady: Steady, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Exporting software makes and removes files of its own; a drive has folders of the system."""
    for name in ("gone", "shut"):
        (tmp_path / name).mkdir()
    (tmp_path / "a.txt").write_bytes(b"x")
    (tmp_path / "z.txt").write_bytes(b"x")
    real = os.scandir

    def scandir(folder: Path) -> Any:
        if folder == tmp_path:
            entries = sorted(real(folder), key=lambda one: one.name)
            return contextlib.nullcontext([entries[0], _Gone("m.txt"), *entries[1:]])
        if folder.name == "shut":
            raise PermissionError(13, "Permission denied")
        raise FileNotFoundError(2, "No such file or directory")

    monkeypatch.setattr("laydown.records.folder_watcher.os.scandir", scandir)
    names(watcher)
    steady.now = 4.0
    assert names(watcher) == ["a.txt", "z.txt"]
    assert watcher.trouble == f"The folder {tmp_path / 'shut'} cannot be read (Permission denied)."


class _Gone:
    """A file that went after the folder had named it."""

    def __init__(self, name: str) -> None:
        self.name = name

    def is_dir(self, *, follow_symlinks: bool) -> bool:
        return False

    def is_file(self) -> bool:
        raise FileNotFoundError(2, "No such file or directory")


def test_what_is_taken_away_and_put_back_is_handed_over_again(
    tmp_path: Path, watcher: FolderWatcher, steady: Steady
) -> None:
    file = tmp_path / "K7.txt"
    file.write_bytes(b"x")
    names(watcher)
    steady.now = 4.0
    assert names(watcher) == ["K7.txt"]
    file.rename(tmp_path / ".K7")
    assert names(watcher) == []
    (tmp_path / ".K7").rename(file)
    names(watcher)
    steady.now = 8.0
    assert names(watcher) == ["K7.txt"]


def test_a_file_rewritten_while_it_is_read_waits(
    tmp_path: Path, watcher: FolderWatcher, steady: Steady, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Of the same length, so that only its time of change tells."""
    file = tmp_path / "K7.txt"
    file.write_bytes(b"half-")
    os.utime(file, ns=(0, 10**18))
    names(watcher)
    steady.now = 4.0
    real = Path.read_bytes

    def read(path: Path) -> bytes:
        content = real(path)
        path.write_bytes(b"whole")
        return content

    monkeypatch.setattr(Path, "read_bytes", read)
    assert names(watcher) == []
    monkeypatch.undo()
    names(watcher)
    steady.now = 8.0
    (seen,) = watcher.complete_files()
    assert seen.sha256 == hashlib.sha256(b"whole").hexdigest()


def test_waiting_ends_when_something_happens_or_it_is_stopped(tmp_path: Path) -> None:
    stop = threading.Event()
    threading.Timer(0.4, lambda: (tmp_path / "K7.txt").write_bytes(b"x")).start()
    begun = time.monotonic()
    wait_for_change(tmp_path, stop, seconds=30.0)
    assert time.monotonic() - begun < 15.0
    threading.Timer(0.4, stop.set).start()
    begun = time.monotonic()
    wait_for_change(tmp_path, stop, seconds=30.0)
    assert time.monotonic() - begun < 15.0


def test_waiting_for_a_folder_that_is_not_there_ends_in_time(tmp_path: Path) -> None:
    begun = time.monotonic()
    wait_for_change(tmp_path / "none", threading.Event(), seconds=0.3)
    assert 0.2 < time.monotonic() - begun < 10.0


def test_one_process_holds_the_lock_and_it_ends_with_the_process(tmp_path: Path) -> None:
    path = tmp_path / "watching.lock"
    script = (
        "import sys; from pathlib import Path; from laydown.records.process_lock import ProcessLock\n"
        "with ProcessLock(Path(sys.argv[1])) as lock: print(lock.held, flush=True); sys.stdin.readline()"
    )

    def other() -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, "-c", script, str(path)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    with ProcessLock(path) as lock:
        assert lock.held
        with other() as child:
            assert child.stdout is not None
            assert child.stdout.readline() == "False\n"
            child.communicate("\n")
    with other() as child:
        assert child.stdout is not None
        assert child.stdout.readline() == "True\n"
        child.kill()
    with ProcessLock(path) as lock:
        assert lock.held
