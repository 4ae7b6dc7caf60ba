"""What is built from the settings: records where they are named, and a key that lasts."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from laydown import boot
from laydown.kernel.errors import BadSetting, CannotKeep
from laydown.records.secret_key import kept_secret


@pytest.fixture
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A data folder that is not there yet."""
    monkeypatch.setenv(boot.DATA_FOLDER, str(tmp_path / "data"))
    for name in (boot.DATABASE, boot.FILES):
        monkeypatch.delenv(name, raising=False)
    return tmp_path / "data"


def test_records_are_in_the_data_folder(data: Path) -> None:
    with closing(boot.records()) as records, records.work("hands in", who="x") as work:
        work.keep_file(b"content")
        assert records.engine.url.database == (data / "records.sqlite").as_posix()
    assert (data / "records.sqlite").is_file()
    assert len([path for path in (data / "files").rglob("*") if path.is_file()]) == 1


def test_records_may_be_named_elsewhere(
    data: Path, any_address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(boot.DATABASE, any_address)
    monkeypatch.setenv(boot.FILES, str(tmp_path / "elsewhere"))
    with closing(boot.records()) as records, records.work("hands in", who="x") as work:
        work.keep_file(b"content")
    assert (tmp_path / "elsewhere").is_dir()
    assert not (data / "records.sqlite").exists()
    assert not (data / "files").exists()


def test_the_data_folder_may_have_any_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "100%20 Büttenpapier #1 & co"
    monkeypatch.setenv(boot.DATA_FOLDER, str(folder))
    monkeypatch.delenv(boot.DATABASE, raising=False)
    boot.records().close()
    assert (folder / "records.sqlite").is_file()


@pytest.mark.parametrize(
    ("name", "value", "told"),
    [
        (boot.DATABASE, "in the cupboard", "address of the database cannot be understood"),
        (boot.FILES, "cupboard://left", "files cannot be kept there"),
    ],
)
def test_settings_that_make_no_sense(
    data: Path, monkeypatch: pytest.MonkeyPatch, name: str, value: str, told: str
) -> None:
    monkeypatch.setenv(name, value)
    with pytest.raises(BadSetting, match=told):
        boot.records()


def test_a_data_folder_that_cannot_be_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_text("x")
    monkeypatch.setenv(boot.DATA_FOLDER, str(tmp_path / "file" / "data"))
    with pytest.raises(CannotKeep, match="data folder cannot be made"):
        boot.records()
    with pytest.raises(CannotKeep, match="key that signs pages cannot be kept"):
        boot.secret()


def test_the_key_lasts_and_is_its_owners_alone(data: Path) -> None:
    key = boot.secret()
    assert len(key) == 32
    assert boot.secret() == key
    assert (data / "secret.key").read_bytes() == key
    if os.name == "posix":
        assert stat.S_IMODE((data / "secret.key").stat().st_mode) == 0o600
        (data / "secret.key").chmod(0o644)
        assert boot.secret() == key
        assert stat.S_IMODE((data / "secret.key").stat().st_mode) == 0o600
    assert [path.name for path in data.iterdir()] == ["secret.key"]


@pytest.mark.skipif(os.name != "posix", reason="LEFT OUT: folders have no such permissions here")
def test_the_data_folder_is_its_owners_alone_unless_they_made_it_otherwise(
    data: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Clients' names and passwords' hashes are in it, and most logins let everybody read new folders."""
    before = os.umask(0o022)
    try:
        boot.records().close()
        assert stat.S_IMODE(data.stat().st_mode) == 0o700
        monkeypatch.setenv(boot.DATA_FOLDER, str(tmp_path / "one" / "of a key"))
        boot.secret()
        assert stat.S_IMODE((tmp_path / "one" / "of a key").stat().st_mode) == 0o700
        (tmp_path / "shared").mkdir(mode=0o755)
        monkeypatch.setenv(boot.DATA_FOLDER, str(tmp_path / "shared"))
        boot.records().close()
        assert stat.S_IMODE((tmp_path / "shared").stat().st_mode) == 0o755
    finally:
        os.umask(before)


def test_two_folders_have_two_keys(tmp_path: Path) -> None:
    assert kept_secret(tmp_path / "a") != kept_secret(tmp_path / "b")


def test_a_file_system_without_links_will_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def no_links(*_: object) -> None:
        raise OSError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", no_links)
    assert kept_secret(tmp_path / "key") == kept_secret(tmp_path / "key")
    assert [path.name for path in tmp_path.iterdir()] == ["key"]


@pytest.mark.parametrize("content", [bytes(31), bytes(33)])
def test_what_is_no_key_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, content: bytes) -> None:
    monkeypatch.setattr("laydown.records.secret_key._PATIENCE_S", 0.05)
    (tmp_path / "key").write_bytes(content)
    with pytest.raises(BadSetting, match=r"not a key that Laydown made.*everybody has to sign in again"):
        kept_secret(tmp_path / "key")


PROGRAM = """
import sys
from pathlib import Path
from laydown.records.secret_key import kept_secret
sys.stdin.readline()
print(kept_secret(Path(sys.argv[1])).hex())
"""


def test_programs_that_start_at_once_agree(tmp_path: Path) -> None:
    with _programs(4, tmp_path / "key") as programs:
        for program in programs:  # let all of them go at one moment, imports done
            assert program.stdin is not None
            program.stdin.write("go\n")
            program.stdin.flush()
        keys = {program.communicate(timeout=60)[0] for program in programs}
    assert len(keys) == 1
    assert len(bytes.fromhex(keys.pop())) == 32
    assert [path.name for path in tmp_path.iterdir()] == ["key"]


@contextmanager
def _programs(count: int, path: Path) -> Iterator[list[subprocess.Popen[str]]]:
    command = [sys.executable, "-c", PROGRAM, str(path)]
    started = [
        subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        for _ in range(count)
    ]
    try:
        yield started
    finally:
        for program in started:
            program.kill()
            program.wait(30)
