"""Files by their hash: whole or not there, checked at every reading, and never in memory at once."""

from __future__ import annotations

import hashlib
import itertools
import os
import tracemalloc
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.kernel.errors import AlteredFile, BadSetting, CannotKeep, TooLarge, UnknownRecord
from laydown.records.file_vault import PIECE, FileVault

_numbers = itertools.count()


@pytest.fixture(params=["folder", "memory"])
def vault(request: pytest.FixtureRequest, tmp_path: Path) -> FileVault:
    return FileVault(str(tmp_path / "files") if request.param == "folder" else f"memory://{next(_numbers)}")


def files_below(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def test_what_is_kept_can_be_read(vault: FileVault) -> None:
    sha256 = vault.keep(b"content")
    assert sha256 == hashlib.sha256(b"content").hexdigest()
    assert vault.read(sha256) == b"content"
    assert vault.size(sha256) == 7
    assert list(vault.all()) == [sha256]
    assert vault.half_received() == ()
    assert list(vault.strangers()) == []


def test_an_empty_vault_holds_nothing(vault: FileVault) -> None:
    assert list(vault.all()) == []
    assert vault.half_received() == ()
    assert vault.size("0" * 64) is None
    with pytest.raises(UnknownRecord, match="a kept file is missing"):
        vault.read("0" * 64)


def test_nothing_in_it_is_a_file_as_well(vault: FileVault) -> None:
    sha256 = vault.keep(b"")
    assert vault.read(sha256) == b""
    assert vault.size(sha256) == 0


@settings(deadline=None, max_examples=40)
@given(pieces=st.lists(st.binary(max_size=300), max_size=8))
def test_pieces_make_the_whole(pieces: list[bytes]) -> None:
    vault = FileVault(f"memory://{next(_numbers)}")
    kept = vault.keep_stream(pieces)
    whole = b"".join(pieces)
    assert (kept.sha256, kept.size) == (hashlib.sha256(whole).hexdigest(), len(whole))
    assert vault.read(kept.sha256) == whole


def test_a_large_file_is_never_whole_in_memory(tmp_path: Path) -> None:
    vault = FileVault(str(tmp_path))
    size = 48
    tracemalloc.start()
    kept = vault.keep_stream(bytes([n]) * PIECE for n in range(size))
    read = sum(len(piece) for piece in vault.pieces(kept.sha256))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert read == kept.size == size * PIECE
    assert peak < 8 * PIECE  # a few pieces at most


def test_a_file_over_the_limit_is_refused_and_leaves_nothing(vault: FileVault) -> None:
    read: list[int] = []

    def endless() -> Iterator[bytes]:
        for number in itertools.count():
            read.append(number)
            yield bytes(2**20)

    with pytest.raises(TooLarge, match=r"photo\.jpg: the file is larger than the 3 MB that are allowed"):
        vault.keep_stream(endless(), limit=3 * 2**20, name="photo.jpg")
    assert len(read) == 4  # and no more was asked for
    assert vault.half_received() == ()
    assert list(vault.all()) == []
    assert vault.keep_stream([bytes(10)], limit=10).size == 10


def test_what_is_left_unfinished_leaves_nothing(vault: FileVault) -> None:
    with vault.receive() as arriving:
        arriving.write(b"half")
    assert vault.half_received() == ()
    with pytest.raises(ZeroDivisionError), vault.receive() as arriving:
        raise ZeroDivisionError
    assert vault.half_received() == ()
    assert list(vault.all()) == []


def test_the_same_content_is_kept_once(vault: FileVault) -> None:
    assert vault.keep(b"content") == vault.keep(b"content") == vault.keep_stream([b"con", b"tent"]).sha256
    assert len(list(vault.all())) == 1
    assert vault.half_received() == ()


def test_an_altered_file_is_found_and_mended_by_the_same_content(tmp_path: Path) -> None:
    vault = FileVault(str(tmp_path))
    sha256 = vault.keep(b"content")
    place = tmp_path / sha256[:2] / sha256
    place.write_bytes(b"kontent")
    with pytest.raises(AlteredFile, match="not what was put away"):
        vault.read(sha256)
    assert vault.keep(b"content") == sha256
    assert vault.read(sha256) == b"content"


def test_of_an_altered_file_the_end_is_held_back(tmp_path: Path) -> None:
    """Whoever sends it on while reading has not sent a whole file when the alteration shows."""
    vault = FileVault(str(tmp_path))
    sha256 = vault.keep(bytes(3 * PIECE))
    place = tmp_path / sha256[:2] / sha256
    place.write_bytes(b"~" + bytes(3 * PIECE - 1))
    sent: list[bytes] = []
    with pytest.raises(AlteredFile):
        sent.extend(vault.pieces(sha256))
    assert sum(map(len, sent)) == 2 * PIECE


def test_keeping_again_makes_a_file_young(tmp_path: Path) -> None:
    vault = FileVault(str(tmp_path))
    sha256 = vault.keep(b"content")
    place = tmp_path / sha256[:2] / sha256
    os.utime(place, (0, 0))
    now = datetime.now(UTC)
    assert vault.age(sha256, now=now) > timedelta(days=10_000)
    vault.keep(b"content")
    assert vault.age(sha256, now=now) < timedelta(hours=1)


def test_discarding_is_for_good_and_may_be_repeated(vault: FileVault) -> None:
    sha256 = vault.keep(b"content")
    vault.discard(sha256)
    vault.discard(sha256)
    assert list(vault.all()) == []


def test_a_folder_may_have_any_name(tmp_path: Path) -> None:
    for name in ("a::b", "100% cotton", "Ünï çödé", "with space", "~"):
        if os.name == "nt" and ":" in name:
            continue
        vault = FileVault(str(tmp_path / name))
        assert vault.folder == tmp_path / name
        assert vault.read(vault.keep(b"content")) == b"content"
        assert len(files_below(tmp_path / name)) == 1


def test_an_address_that_makes_no_sense_is_refused() -> None:
    with pytest.raises(BadSetting, match="files cannot be kept there"):
        FileVault("nonsense://somewhere")


def _full(*_: object) -> int:
    raise OSError(28, "No space left on device")


@pytest.mark.parametrize(
    "step", ["os.fsync", "pathlib.Path.replace", "laydown.records.file_vault.flush_folder", "write"]
)
def test_trouble_at_any_step_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    vault = FileVault(str(tmp_path / "files"))
    kept = vault.keep(b"before")
    with monkeypatch.context() as patched:
        if step == "write":
            patched.setattr(
                "laydown.records.arriving_file.ArrivingFile.write",
                _through_plain_errors(vault),
            )
        else:
            patched.setattr(step, _full)
        with pytest.raises(CannotKeep, match=r"could not be put away \(No space left on device\)") as told:
            vault.keep(b"content")
    assert told.value.todo.startswith("Free some space")
    assert vault.half_received() == ()
    assert vault.read(kept) == b"before"
    vault.keep(b"content")
    assert len(list(vault.all())) == 2


def _through_plain_errors(vault: FileVault) -> object:
    def write(arriving: object, piece: bytes) -> None:
        with vault._plain_errors():
            _full()

    return write


def test_a_file_in_place_of_the_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "files").write_text("a file")
    with pytest.raises(CannotKeep, match="could not be put away"):
        FileVault(str(tmp_path / "files")).keep(b"content")
    with pytest.raises(UnknownRecord):
        FileVault(str(tmp_path / "files")).read("0" * 64)


@pytest.mark.parametrize("name", ["../outside.txt", "..", "", "ab", "A" * 64, "g" * 64, "0" * 63 + "\n"])
def test_no_name_leads_out_of_it(tmp_path: Path, name: str) -> None:
    """An archive or a form may state any text as the checksum of a file."""
    outside = tmp_path / "outside.txt"
    outside.write_bytes(b"a letter " * 2**18)  # so long that its pieces come before its hash is known
    vault = FileVault(str(tmp_path / "files" / "vault"))
    vault.keep(b"x")
    for stated in (name, f"../../{name}", str(outside)):
        with pytest.raises(UnknownRecord):
            next(iter(vault.pieces(stated)))
        assert vault.size(stated) is None
        vault.discard(stated)
    assert outside.exists()


def test_what_the_system_leaves_lying_about_is_a_stranger(tmp_path: Path) -> None:
    vault = FileVault(str(tmp_path / "vault"))
    kept = vault.keep(b"x")
    (tmp_path / "vault" / "incoming" / ".DS_Store").write_bytes(b"x")
    (tmp_path / "vault" / kept[:2] / (kept[:2] + "Z" * 62)).write_bytes(b"x")
    assert list(vault.all()) == [kept]
    assert vault.half_received() == ()
    assert len(list(vault.strangers())) == 2
