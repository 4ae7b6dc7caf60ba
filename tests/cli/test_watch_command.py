"""``laydown watch`` as somebody types it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from laydown.records.engine import sqlite_url
from laydown.records.opening import open_records
from laydown.trials.measured import Reading
from laydown.trials.trial import Trial

READINGS = b"id,R,G,B,L,a,b\n1,255,255,255,95,0,1\n2,0,0,0,16,0,0\n3,255,0,0,48,66,45\n"


def command(*words: str | Path) -> list[str]:
    return [sys.executable, "-W", "error", "-m", "laydown", "watch", *map(str, words)]


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A data folder with two trials in it."""
    data = tmp_path / "studio"
    data.mkdir()
    with (
        closing(open_records(sqlite_url(data / "records.sqlite"), str(data / "files"))) as records,
        records.work("set up", who="the test") as work,
    ):
        for name in ("Spring trial", "Twice", "Twice"):
            begun = date(2026, 1, 1)
            work.add(Trial(id=records.new_id() if name == "Twice" else "spring", name=name, begun=begun))
    return data


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = tmp_path / "exports"
    folder.mkdir()
    (folder / "first.csv").write_bytes(READINGS)
    return folder


def run(data: Path, *words: str | Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command(*words),
        env=os.environ | {"LAYDOWN_DATA": str(data)},
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


def names(data: Path) -> list[str]:
    with (
        closing(open_records(sqlite_url(data / "records.sqlite"), str(data / "files"))) as records,
        records.look() as look,
    ):
        return [reading.file_name for reading in look.find(Reading, order=("received_at",))]


def test_once_takes_in_what_is_there_and_only_once(data: Path, folder: Path) -> None:
    done = run(data, folder, "--trial", "spring", "--once")
    assert (done.returncode, done.stdout) == (0, "Received first.csv, which waits for its sheet.\n"), (
        done.stderr
    )
    (folder / "letter.txt").write_bytes(b"Dear Ada\n")
    again = run(data, folder, "--trial", "Spring trial", "--once")
    assert again.returncode == 1
    assert again.stdout.startswith("Could not use letter.txt: ")
    assert names(data) == ["first.csv"]
    assert run(data, folder, "--trial", "spring", "--once").stdout == ""


@pytest.mark.parametrize(
    ("trial", "where", "why"),
    [
        ("Autumn", "", 'no trial is called "Autumn"'),
        ("Twice", "", 'several trials are called "Twice"'),
        ("spring", "nowhere", "there is no such folder"),
    ],
)
def test_what_cannot_be_watched_is_said(data: Path, folder: Path, trial: str, where: str, why: str) -> None:
    done = run(data, folder / where if where else folder, "--trial", trial, "--once")
    assert done.returncode == 2
    assert why in done.stderr


@pytest.mark.skipif(os.name != "posix", reason="interrupts are sent otherwise there")
def test_it_goes_on_until_it_is_interrupted_and_one_watches_at_a_time(data: Path, folder: Path) -> None:
    environment = os.environ | {"LAYDOWN_DATA": str(data), "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(
        command(folder, "--trial", "spring"),
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as child:
        assert child.stdout is not None
        assert child.stdout.readline().startswith("Watching ")
        assert child.stdout.readline() == "Received first.csv, which waits for its sheet.\n"
        other = run(data, folder, "--trial", "spring", "--once")
        assert (other.returncode, "watches this folder already" in other.stderr) == (2, True)
        stamp = datetime.now(UTC).isoformat().encode()
        (folder / "second.csv").write_bytes(READINGS.replace(b"48,66", b"47,65") + b"# " + stamp)
        assert child.stdout.readline() == "Received second.csv, which waits for its sheet.\n"
        time.sleep(0.3)
        child.send_signal(signal.SIGINT)
        _, complaint = child.communicate(timeout=60)
    assert (child.returncode, complaint) == (0, "")
    assert names(data) == ["first.csv", "second.csv"]
