"""Uploads: names made harmless, whole or not at all, deleted only into the trash."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import RefusedInput, TooLarge, UnknownUpload
from laydown.records.upload_names import clean_path, disk_name, suggest_media
from laydown.records.upload_record import Limits, upload_from_json, upload_to_json
from laydown.records.uploads import ABANDONED_AFTER, STALE_AFTER, UploadStore

NOON = datetime(2026, 1, 31, 12, tzinfo=UTC)


class Clock:
    def __init__(self) -> None:
        self.now = NOON

    def __call__(self) -> datetime:
        self.now += timedelta(seconds=1)
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def store(tmp_path: Path, clock: Clock) -> UploadStore:
    return UploadStore(tmp_path, clock=clock)


def put(store: UploadStore, draft_id: str, path: str, content: bytes = b"x") -> None:
    with store.receive(draft_id, path) as incoming:
        incoming.write(content)
        incoming.finish()


@pytest.mark.parametrize(
    ("given_path", "clean"),
    [
        ("../../etc/passwd", "etc/passwd"),
        ("..\\..\\windows\\system.ini", "windows/system.ini"),
        ("/absolute/a.txt", "absolute/a.txt"),
        ("C:\\prints\\a.txt", "C:/prints/a.txt"),
        ("a\x00b\n.txt", "ab.txt"),
        ("evil\u202etxt.exe", "eviltxt.exe"),
        ("cafe\u0301.txt", "caf\u00e9.txt"),
        ("1/2/3/4/5/6/7/8.txt", "3/4/5/6/7/8.txt"),
    ],
)
def test_paths_are_made_harmless(given_path: str, clean: str) -> None:
    assert clean_path(given_path) == clean


@pytest.mark.parametrize("nothing", ["", "..", "../..", "\x00", "///"])
def test_a_name_of_nothing_is_refused(nothing: str) -> None:
    with pytest.raises(RefusedInput, match="without a name"):
        clean_path(nothing)


@pytest.mark.parametrize(
    "name", ["CON", "con.txt", "NUL.txt", "COM1", "LPT9.csv", "aux.", "a:b.txt", "x" * 400]
)
def test_no_name_on_the_disk_is_special(name: str) -> None:
    on_disk = disk_name(7, name)
    assert on_disk.startswith("0007-")
    assert len(on_disk) < 60
    assert not set(on_disk) & set('<>:"/\\|?*')


@settings(max_examples=200, deadline=None)
@given(st.text(min_size=1, max_size=300))
def test_any_text_becomes_a_plain_name(text: str) -> None:
    try:
        clean = clean_path(text)
    except RefusedInput:
        return
    assert not any(part in {"", ".", ".."} for part in clean.split("/"))
    assert all(len(part) <= 120 for part in clean.split("/"))
    on_disk = disk_name(1, clean)
    assert on_disk.isascii()
    assert set(on_disk) <= set("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-.")
    assert not on_disk.endswith(".")


def test_folders_say_which_medium() -> None:
    paths = ["trial/Rag/1.txt", "trial/Rag/2.txt", "trial/Baryta/1.txt", "trial/trial.json"]
    media = suggest_media(paths)
    assert [media[p] for p in paths[:3]] == ["Rag", "Rag", "Baryta"]
    assert suggest_media(["Rag/1.txt", "Baryta/1.txt"]) == {"Rag/1.txt": "Rag", "Baryta/1.txt": "Baryta"}
    assert suggest_media(["sheets/rag.txt", "sheets/satin.txt"]) == {
        "sheets/rag.txt": "rag",
        "sheets/satin.txt": "satin",
    }
    assert suggest_media(["rag.txt", "satin.txt"]) == {"rag.txt": "rag", "satin.txt": "satin"}
    assert suggest_media(["rag.txt", "rag.csv"]) == {"rag.txt": "rag.txt", "rag.csv": "rag.csv"}


def test_what_is_written_down_comes_back(store: UploadStore) -> None:
    draft = store.start()
    put(store, draft.id, "Rag/Zürich ☃.txt", b"hello")
    stored = store.get(draft.id).files[0]
    store.describe(
        draft.id, title=" T ", question="Q?", house="Rag", media={stored.stored: "Rag"}, left_out=frozenset()
    )
    upload = store.get(draft.id)
    assert (upload.title, upload.question, upload.house) == ("T", "Q?", "Rag")
    assert upload.files[0].path == "Rag/Zürich ☃.txt"
    assert upload.files[0].medium == "Rag"
    assert store.path_of(upload, upload.files[0]).read_bytes() == b"hello"
    assert upload_from_json(upload_to_json(upload), shelf="drafts") == upload


def test_the_same_path_again_replaces(store: UploadStore, tmp_path: Path) -> None:
    draft = store.start()
    put(store, draft.id, "a.txt", b"old")
    put(store, draft.id, "a.txt", b"new")
    upload = store.get(draft.id)
    assert [store.path_of(upload, f).read_bytes() for f in upload.files] == [b"new"]
    assert len(list((tmp_path / "drafts" / draft.id / "files").iterdir())) == 1


def test_an_upload_broken_off_leaves_nothing(store: UploadStore, tmp_path: Path) -> None:
    draft = store.start()
    with store.receive(draft.id, "a.txt") as incoming:
        incoming.write(b"half")  # and never finished
    assert store.get(draft.id).files == ()
    assert list((tmp_path / "drafts" / draft.id / "files").iterdir()) == []


def test_limits_name_the_file(tmp_path: Path, clock: Clock) -> None:
    store = UploadStore(
        tmp_path, clock=clock, limits=Limits(file_bytes=2**20, total_bytes=3 * 2**19, files=2)
    )
    draft = store.start()
    with (
        pytest.raises(TooLarge, match=r"a.txt: the file is larger than 1 MB"),
        store.receive(draft.id, "a.txt") as i,
    ):
        i.write(bytes(2**20 + 1))
    put(store, draft.id, "b.txt", bytes(2**20))
    with pytest.raises(TooLarge, match=r"c.txt: all files together"), store.receive(draft.id, "c.txt") as i:
        i.write(bytes(2**20))
    put(store, draft.id, "c.txt")
    with pytest.raises(RefusedInput, match="can hold 2 files"):
        store.receive(draft.id, "d.txt")
    assert [f.path for f in store.get(draft.id).files] == ["b.txt", "c.txt"]


def test_keep_delete_restore(store: UploadStore) -> None:
    draft = store.start()
    put(store, draft.id, "a.txt", b"content")
    kept = store.keep(draft.id)
    assert [u.id for u in store.list("comparisons")] == [kept.id]
    assert store.list("drafts") == ()
    store.delete(kept.id)
    with pytest.raises(UnknownUpload):
        store.get(kept.id)
    assert [u.id for u in store.list("trash")] == [kept.id]
    restored = store.restore(kept.id)
    assert store.path_of(restored, restored.files[0]).read_bytes() == b"content"


def test_a_kept_comparison_takes_no_more_files(store: UploadStore) -> None:
    draft = store.start()
    put(store, draft.id, "a.txt")
    store.keep(draft.id)
    with pytest.raises(UnknownUpload):
        store.receive(draft.id, "b.txt")


@pytest.mark.parametrize(
    "bad", ["", "..", "../drafts", "0" * 15, "0" * 17, "G" * 16, "a/b", "demo", "0" * 16 + "\n"]
)
def test_ids_that_cannot_be(store: UploadStore, bad: str) -> None:
    with pytest.raises(UnknownUpload):
        store.get(bad)
    with pytest.raises(UnknownUpload):
        store.delete(bad)


def test_newest_first_and_broken_folders_passed_over(store: UploadStore, tmp_path: Path) -> None:
    first, second = store.start(), store.start()
    broken = tmp_path / "drafts" / ("0" * 16)
    broken.mkdir()
    (broken / "upload.json").write_text('{"format": 1')
    (tmp_path / "drafts" / "notes").mkdir()
    assert [u.id for u in store.list("drafts")] == [second.id, first.id]


def test_tidy_sweeps_halves_and_forgotten_drafts(store: UploadStore, tmp_path: Path, clock: Clock) -> None:
    old = store.start()
    put(store, old.id, "a.txt")
    clock.now += ABANDONED_AFTER
    empty = store.start()
    clock.now += STALE_AFTER
    recent, begun = store.start(), store.start()
    put(store, recent.id, "b.txt")
    half = tmp_path / "drafts" / recent.id / "files" / "0123.part"
    half.write_bytes(b"half")
    os.utime(half, times=(0, (clock.now - 2 * STALE_AFTER).timestamp()))
    store.tidy()
    assert not half.exists()
    assert {u.id for u in store.list("drafts")} == {recent.id, begun.id}
    assert {u.id for u in store.list("trash")} == {old.id, empty.id}


def test_the_fingerprint_follows_content_and_words(store: UploadStore) -> None:
    draft = store.start()
    put(store, draft.id, "a.txt", b"1")
    before = store.get(draft.id).fingerprint
    assert store.keep(draft.id).fingerprint == before
    upload = store.describe(draft.id, title="t", question="", house="", media={})
    assert upload.fingerprint != before


WRITER = """
import sys, itertools
from datetime import UTC, datetime
from pathlib import Path
from laydown.records.uploads import UploadStore
store = UploadStore(Path(sys.argv[1]), clock=lambda: datetime.now(UTC))
draft = store.start()
print(draft.id, flush=True)
for n in itertools.count():
    with store.receive(draft.id, f"sheet {n}.txt") as incoming:
        for _ in range(64):
            incoming.write(b"%08d" % n * 512)
        incoming.finish()
"""


@pytest.mark.skipif(os.name != "posix", reason="LEFT OUT: kill -9 exists on POSIX only")
def test_killed_in_the_middle_everything_named_is_whole(
    tmp_path: Path, store: UploadStore, clock: Clock
) -> None:
    for pause in (0.05, 0.11, 0.17):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            draft_id = writer.stdout.readline().strip()
            time.sleep(pause)
            writer.send_signal(signal.SIGKILL)
        draft = store.get(draft_id)
        for file in draft.files:
            content = store.path_of(draft, file).read_bytes()
            number = int(file.path.removeprefix("sheet ").removesuffix(".txt"))
            assert content == b"%08d" % number * 512 * 64
        clock.now = datetime.now(UTC) + STALE_AFTER
        store.tidy()
        assert not list(tmp_path.rglob("*.part"))


def test_several_processes_receive_into_one_draft_and_nothing_is_lost(
    tmp_path: Path, store: UploadStore
) -> None:
    """On the studio's network two processes serve, and a page sends three files at a time."""
    script = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from laydown.records.uploads import UploadStore
store = UploadStore(Path(sys.argv[1]), clock=lambda: datetime.now(UTC))
for n in range(40):
    with store.receive(sys.argv[2], f"{sys.argv[3]}/{n}.txt") as incoming:
        incoming.write(sys.argv[3].encode())
        incoming.finish()
"""
    draft = store.start()
    command = [sys.executable, "-c", script, str(tmp_path), draft.id]
    running = [subprocess.Popen([*command, name]) for name in ("A", "B", "C")]
    assert [one.wait(60) for one in running] == [0, 0, 0]
    draft = store.get(draft.id)
    assert sorted(file.path for file in draft.files) == sorted(
        f"{a}/{n}.txt" for a in "ABC" for n in range(40)
    )
    for file in draft.files:
        assert store.path_of(draft, file).read_text() == file.path[0]


def test_what_came_in_meanwhile_counts_towards_the_limits(tmp_path: Path, clock: Clock) -> None:
    store = UploadStore(tmp_path, clock=clock, limits=Limits(file_bytes=10, total_bytes=15, files=2))
    draft = store.start()
    with store.receive(draft.id, "a.txt") as first, store.receive(draft.id, "b.txt") as second:
        first.write(b"x" * 9)
        second.write(b"x" * 9)
        first.finish()
        with pytest.raises(TooLarge, match="all files together"):
            second.finish()
    with store.receive(draft.id, "c.txt") as third, store.receive(draft.id, "d.txt") as fourth:
        third.finish()
        with pytest.raises(RefusedInput, match="can hold 2 files"):
            fourth.finish()
    assert [file.path for file in store.get(draft.id).files] == ["a.txt", "c.txt"]
    assert not list(tmp_path.rglob("*.part"))


def test_tidy_leaves_what_is_young(store: UploadStore, tmp_path: Path, clock: Clock) -> None:
    """A second process may start while the first one receives."""
    clock.now = datetime.now(UTC)
    draft = store.start()
    with store.receive(draft.id, "a.txt") as incoming:
        incoming.write(b"half")
        UploadStore(tmp_path, clock=clock).tidy()
        incoming.write(b" whole")
        incoming.finish()
    (file,) = store.get(draft.id).files
    assert store.path_of(draft, file).read_bytes() == b"half whole"
