"""An archive that was altered by one byte, anywhere, is refused; an untouched one is read."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile

import numpy as np
import pytest

from laydown.kernel.errors import AlteredFile, UnreadableFile
from laydown.records.sealed_zip import open_sealed_zip, write_sealed_zip

KIND = "box of the tests"


def _archive() -> bytes:
    target = io.BytesIO()
    members: list[tuple[str, bytes | list[bytes]]] = [
        ("trial.json", b'{"name": "invented"}' * 20),
        ("files/one.txt", [b"first ", b"second"]),
        ("files/empty", b""),
    ]
    write_sealed_zip(target, members, about={"format": KIND, "version": 1})
    return target.getvalue()


def _read(content: bytes) -> dict[str, bytes]:
    with open_sealed_zip(io.BytesIO(content), file="a.zip", wanted=KIND) as box:
        assert box.about == {"format": KIND, "version": 1}
        return {name: box.read(name) for name in box.names()}


def test_what_was_put_in_comes_out() -> None:
    assert _read(_archive()) == {
        "trial.json": b'{"name": "invented"}' * 20,
        "files/one.txt": b"first second",
        "files/empty": b"",
    }


def test_the_same_content_makes_the_same_bytes() -> None:
    assert _archive() == _archive()


def test_every_single_altered_byte_is_found() -> None:
    sound = _archive()
    for place in range(len(sound)):
        for flip in (0x01, 0x80):
            altered = bytearray(sound)
            altered[place] ^= flip
            with pytest.raises((AlteredFile, UnreadableFile)) as refused:
                _read(bytes(altered))
            assert refused.value.file == "a.zip"
            assert refused.value.todo


def test_the_altered_member_is_named() -> None:
    sound = _archive()
    place = sound.index(b"files/one.txt") + len("files/one.txt") + 25  # inside its packed content
    altered = bytearray(sound)
    altered[place] ^= 0x10
    with pytest.raises(AlteredFile, match=r"files/one\.txt"):
        _read(bytes(altered))


@pytest.mark.parametrize("cut", [1, 60, 200])
def test_a_shortened_or_lengthened_archive_is_refused(cut: int) -> None:
    sound = _archive()
    for content in (sound[:-cut], sound + b"\0" * cut, b"x" + sound):
        with pytest.raises((AlteredFile, UnreadableFile)):
            _read(content)


def test_another_file_is_refused_as_such() -> None:
    with pytest.raises(UnreadableFile, match="not an archive"):
        _read(b"a letter, not a zip")
    other = io.BytesIO()
    write_sealed_zip(other, [], about={"format": "something else"})
    with pytest.raises(UnreadableFile, match=KIND):
        _read(other.getvalue())


def test_an_archive_whose_seal_was_made_anew_is_still_checked_member_by_member() -> None:
    other = io.BytesIO()
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("a.txt", b"two")
        listed = {"a.txt": {"size": 3, "sha256": hashlib.sha256(b"one").hexdigest()}}
        archive.writestr("manifest.json", json.dumps({"format": KIND, "files": listed}))
        archive.comment = b"sha256 " + b"0" * 64
    sealed = other.getvalue()[:-64]
    with pytest.raises(AlteredFile, match=r"a\.txt"):
        _read(sealed + hashlib.sha256(sealed).hexdigest().encode())


def _sealed_anew(members: dict[str, bytes], told: dict[str, bytes]) -> bytes:
    """An archive whose manifest, well sealed, tells of other members than there are."""
    files = {
        name: {"size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
        for name, content in told.items()
    }
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
        archive.writestr("manifest.json", json.dumps({"format": KIND, "version": 1, "files": files}))
        archive.comment = b"sha256 " + b"0" * 64
    content = target.getvalue()
    return content[:-64] + hashlib.sha256(content[:-64]).hexdigest().encode()


def test_members_and_manifest_are_the_same_to_the_last_one() -> None:
    both = {"a": b"first", "b": b"second"}
    assert _read(_sealed_anew(both, both)) == both
    for there, told, named in (
        ({"a": b"first"}, both, "b"),
        (both, {"a": b"first"}, "b"),
        (both, {**both, "b": b"other"}, "b"),
        (both, {**both, "c": b""}, "c"),
    ):
        with pytest.raises(AlteredFile, match=f"{named} is not what was put in"):
            _read(_sealed_anew(there, told))


def test_no_more_is_unpacked_than_a_member_says_it_holds() -> None:
    """A member of a few bytes by its own word that holds a million."""
    sound = _sealed_anew({"bomb": b" " * 2**20}, {"bomb": b" " * 5})
    lying = sound.replace((2**20).to_bytes(4, "little"), (5).to_bytes(4, "little"))
    assert lying != sound
    lying = lying[:-64] + hashlib.sha256(lying[:-64]).hexdigest().encode()
    with pytest.raises(AlteredFile, match="bomb"):
        _read(lying)


def test_random_damage_never_does_anything_else(rng: np.random.Generator) -> None:
    sound = _archive()
    for _ in range(300):
        altered = bytearray(sound)
        for place in rng.integers(len(sound), size=rng.integers(1, 6)):
            altered[place] = rng.integers(256)
        if bytes(altered) == sound:
            continue
        with pytest.raises((AlteredFile, UnreadableFile)):
            _read(bytes(altered))
