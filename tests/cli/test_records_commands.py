"""Backup, restore and verify as somebody types them."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from laydown.records.engine import sqlite_url
from laydown.records.ledger import Records
from laydown.records.opening import open_records
from laydown.trials.remarks import Attachment


def laydown(data: Path, *words: str | Path, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-W", "error", "-m", "laydown", *map(str, words)],
        env=os.environ | {"LAYDOWN_DATA": str(data)} | more,
        cwd=data.parent,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
    )


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A data folder with one photograph in it."""
    data = tmp_path / "studio"
    data.mkdir()
    with closing(open_records(sqlite_url(data / "records.sqlite"), str(data / "files"))) as records:
        _hand_in(records, b"a photograph")
    return data


def _hand_in(records: Records, content: bytes) -> str:
    with records.work("hands in", who="Åsa") as work:
        sha256 = work.keep_file(content)
        work.add(
            Attachment(
                id=records.new_id(),
                trial_id=None,
                about="x",
                kind="photograph",
                name="p.jpg",
                size=len(content),
                sha256=sha256,
                at=work.now,
            )
        )
    return sha256


def test_to_another_computer_and_back_again(studio: Path, tmp_path: Path) -> None:
    made = laydown(studio, "backup")
    assert made.returncode == 0, made.stderr
    (backup,) = (studio / "backups").iterdir()
    assert str(backup) in made.stdout
    assert "Journal entries: 1. Rows: 4. Files: 1 (0.0 MB)." in made.stdout
    link = made.stdout.splitlines()[2]
    other = tmp_path / "other computer"
    taken = laydown(other, "restore", backup)
    assert taken.returncode == 0, taken.stderr
    assert link in taken.stdout
    assert taken.stdout.endswith("Everything is sound.\n")
    again = laydown(other, "restore", backup)
    assert again.returncode == 2
    assert 'or add "--replace"' in again.stderr
    replaced = laydown(other, "restore", "--replace", backup)
    assert replaced.returncode == 0, replaced.stderr
    (aside,) = (other / "backups").iterdir()
    assert f"What was here is in {aside}" in replaced.stdout


@pytest.mark.postgresql
def test_to_a_server_with_one_setting(studio: Path, tmp_path: Path, postgresql_address: str) -> None:
    assert laydown(studio, "backup", tmp_path / "b.zip").returncode == 0
    taken = laydown(tmp_path / "new", "restore", tmp_path / "b.zip", LAYDOWN_DATABASE=postgresql_address)
    assert taken.returncode == 0, taken.stderr
    told = json.loads(
        laydown(tmp_path / "new", "verify", "--json", "-", LAYDOWN_DATABASE=postgresql_address).stdout
    )
    assert (told["database"], told["sound"], told["entries"]) == ("postgresql", True, 1)


def test_verify_tells_trouble_and_ends_with_one(studio: Path, tmp_path: Path) -> None:
    sound = laydown(studio, "verify")
    assert (sound.returncode, sound.stderr) == (0, "")
    assert sound.stdout.startswith("Journal entries: 1. Rows: 1. Trials: 0. Files: 1 (0.0 MB).")
    (photograph,) = (path for path in (studio / "files").rglob("*") if path.is_file())
    photograph.write_bytes(b"A photograph")
    found = laydown(studio, "verify", "--json", tmp_path / "found.json")
    assert found.returncode == 1
    assert f"TROUBLE  file {photograph.name}: this kept file is not what was put away" in found.stdout
    assert found.stdout.endswith("Not everything is sound; see above.\n")
    told = json.loads((tmp_path / "found.json").read_text(encoding="utf-8"))
    assert told["sound"] is False
    assert told["troubles"][0]["where"] == f"file {photograph.name}"
    left_out = laydown(studio, "backup")
    assert left_out.returncode == 1
    assert f"Left out: file {photograph.name}" in left_out.stderr


def test_verify_tidies_when_asked(studio: Path) -> None:
    stray = studio / "files/incoming" / ("5f" * 12)  # as a file is called while it arrives
    stray.parent.mkdir(exist_ok=True)
    stray.write_bytes(b"half")
    os.utime(stray, (0, 0))
    assert "Note: files that nothing refers to: 1 (0.0 MB)" in laydown(studio, "verify").stdout
    assert stray.exists()
    assert "Deleted files that nothing referred to: 1." in laydown(studio, "verify", "--tidy").stdout
    assert not stray.exists()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["restore", "gone.zip"], "the backup cannot be opened"),
        (["restore", "notes.txt"], "not an archive"),
        (["backup", "notes.txt"], "there is a file of that name already"),
    ],
)
def test_mistakes_with_records_become_one_sentence(tmp_path: Path, words: list[str], sentence: str) -> None:
    (tmp_path / "notes.txt").write_text("buy milk", encoding="utf-8")
    done = laydown(tmp_path / "data", *words)
    assert done.returncode == 2
    assert done.stderr.startswith("laydown: ")
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr
