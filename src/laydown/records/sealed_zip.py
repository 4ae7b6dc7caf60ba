"""Zip files that know their own content: a manifest with the SHA-256 of every member, and one over the whole.

Used for backups and for trial archives. A single altered byte anywhere is found, and the member it lies in
is named. Nothing is unpacked onto the disk; members are read one at a time, within limits.
"""

from __future__ import annotations

import hashlib
import json
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO, Any

from laydown.kernel.errors import AlteredFile, TooLarge, UnreadableFile

MANIFEST = "manifest.json"
LARGEST_MEMBER = 4 * 2**30
MOST_MEMBERS = 200_000
_SEAL = "sha256 "
_PIECE = 2**20
_EARLIEST = (1980, 1, 1, 0, 0, 0)  # the same content makes the same bytes, whenever it is written
_LONGEST_TAIL = 22 + 65_535  # the longest end-of-archive record with its comment
_LARGEST_MANIFEST = 64 * 2**20
_LIST = "the list of its members"
# What reading a damaged zip or manifest can raise.
_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    OSError,
    EOFError,
    ValueError,
    TypeError,
    KeyError,
    AttributeError,
    RuntimeError,
    NotImplementedError,
    struct.error,
)


def write_sealed_zip(
    target: IO[bytes], members: Iterable[tuple[str, bytes | Iterable[bytes]]], *, about: Mapping[str, Any]
) -> None:
    """Write members (name, content) and a manifest that says what they are.

    Parameters
    ----------
    target
        Open for reading and writing, at its start.
    members
        Each name once, "/" between folders; content whole or in pieces.
    about
        What the manifest says besides: format, version, what it holds.
    """
    listed: dict[str, dict[str, Any]] = {}
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            if name in listed:
                raise ValueError(f"{name} would be written twice")
            listed[name] = _write(archive, name, [content] if isinstance(content, bytes) else content)
        told = json.dumps({**about, "files": listed}, ensure_ascii=False, indent=1, sort_keys=True)
        _write(archive, MANIFEST, [told.encode()])
        archive.comment = (_SEAL + "0" * 64).encode()
    target.seek(-64, 2)
    end = target.tell()
    seal = _digest(target, end)
    target.seek(end)
    target.write(seal.encode())
    target.flush()


@dataclass(frozen=True, slots=True)
class SealedZip:
    """An opened archive, found whole; ``about`` is its manifest without the list of files."""

    archive: zipfile.ZipFile
    about: Mapping[str, Any]
    files: Mapping[str, Mapping[str, Any]]
    file: str

    def names(self, folder: str = "") -> tuple[str, ...]:
        """Names of the members below a folder, in order."""
        return tuple(sorted(name for name in self.files if name.startswith(folder)))

    def size(self, name: str) -> int:
        """How many bytes a member has.

        Raises
        ------
        UnreadableFile
            There is none of that name.
        """
        self._known(name)
        return int(self.files[name]["size"])

    def read(self, name: str, *, limit: int = 256 * 2**20) -> bytes:
        """One member, whole.

        Raises
        ------
        UnreadableFile
            There is none of that name.
        TooLarge
            It is larger than ``limit``.
        """
        if self.size(name) > limit:
            raise TooLarge(f"{name} is larger than {limit // 2**20} MB.", file=self.file)
        return b"".join(self.pieces(name))

    def pieces(self, name: str) -> Iterator[bytes]:
        """One member, piece by piece."""
        self._known(name)
        with self.archive.open(name) as member:
            while piece := member.read(_PIECE):
                yield piece

    def _known(self, name: str) -> None:
        if name not in self.files:
            raise UnreadableFile(
                f"there is no {name} in it.", todo="Ask for the archive again.", file=self.file
            )


@contextmanager
def open_sealed_zip(
    source: IO[bytes], *, file: str, wanted: str, largest: int | None = None
) -> Iterator[SealedZip]:
    """Open an archive and find it whole before anything is read from it.

    Parameters
    ----------
    source
        Open for reading; can be rewound.
    file
        Its name, for messages.
    wanted
        What the manifest's "format" must say.
    largest
        How many bytes it may unpack to; None where it is the studio's own, such as a backup.

    Raises
    ------
    UnreadableFile
        It is no such archive.
    AlteredFile
        Its bytes are not those that were written; the member is named where it can be told.
    TooLarge
        It would unpack to more than ``largest``; nothing of it was unpacked.
    """
    whole = _whole(source)
    if not whole and _SEAL.encode() not in _tail(source):
        raise UnreadableFile("this is not an archive.", todo="Choose another file.", file=file)
    try:
        archive = zipfile.ZipFile(source)
        _refuse_bomb(archive, largest, file)
        altered = _first_altered(archive)
    except _DAMAGE as error:
        raise _changed(_LIST, file) from error
    with archive:
        if altered is not None or not whole:
            raise _changed(altered or _LIST, file)
        manifest = json.loads(archive.read(MANIFEST))
        if manifest.get("format") != wanted:
            raise UnreadableFile(f"this is not a {wanted}.", todo="Choose another file.", file=file)
        about = {name: value for name, value in manifest.items() if name != "files"}
        yield SealedZip(archive, about, manifest["files"], file)


def _write(archive: zipfile.ZipFile, name: str, pieces: Iterable[bytes]) -> dict[str, Any]:
    digest, size = hashlib.sha256(), 0
    entry = zipfile.ZipInfo(name, _EARLIEST)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o644 << 16
    with archive.open(entry, "w", force_zip64=True) as member:
        for piece in pieces:
            digest.update(piece)
            size += len(piece)
            member.write(piece)
    return {"sha256": digest.hexdigest(), "size": size}


def _refuse_bomb(archive: zipfile.ZipFile, largest: int | None, file: str) -> None:
    # What a member holds beyond the size it states is never unpacked, see ``_member``.
    if largest is not None and sum(info.file_size for info in archive.infolist()) > largest:
        raise TooLarge(f"it would unpack to more than {largest // 2**20} MB.", file=file)


def _first_altered(archive: zipfile.ZipFile) -> str | None:
    """The first member whose content is not what the manifest says."""
    infos = archive.infolist()
    if len(infos) > MOST_MEMBERS:
        return _LIST
    try:
        if archive.getinfo(MANIFEST).file_size > _LARGEST_MANIFEST:
            return MANIFEST
        files = json.loads(archive.read(MANIFEST))["files"]
        told = {name: (int(one["size"]), str(one["sha256"])) for name, one in files.items()}
    except _DAMAGE:
        return MANIFEST
    for info in infos:
        if info.filename != MANIFEST and _member(archive, info) != told.get(info.filename):
            return info.filename
    missing = set(told) - {info.filename for info in infos}
    return min(missing) if missing else None


def _member(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> tuple[int, str] | None:
    """Size and SHA-256 of a member; None where it cannot be unpacked.

    No more of it is unpacked than it says it holds: the library sees to that.
    """
    if info.file_size > LARGEST_MEMBER:
        return None
    digest, seen = hashlib.sha256(), 0
    try:
        with archive.open(info) as member:
            while piece := member.read(_PIECE):
                seen += len(piece)
                digest.update(piece)
    except _DAMAGE:
        return None
    return seen, digest.hexdigest()


def _whole(source: IO[bytes]) -> bool:
    """Whether the seal in the archive's comment fits every byte before it."""
    source.seek(0, 2)
    length = source.tell()
    source.seek(max(0, length - 64 - len(_SEAL)))
    tail = source.read()
    if not tail.startswith(_SEAL.encode()):
        return False
    return _digest(source, length - 64) == tail[len(_SEAL) :].decode("ascii", "replace")


def _digest(source: IO[bytes], length: int) -> str:
    digest, left = hashlib.sha256(), length
    source.seek(0)
    while left > 0:
        piece = source.read(min(_PIECE, left))
        if not piece:
            break
        digest.update(piece)
        left -= len(piece)
    return digest.hexdigest()


def _changed(member: str, file: str) -> AlteredFile:
    return AlteredFile(
        f"{member} is not what was put in; bytes of this archive have changed.",
        todo="Nothing was taken from it. Copy or ask for the archive again.",
        file=file,
    )


def _tail(source: IO[bytes]) -> bytes:
    source.seek(0, 2)
    source.seek(max(0, source.tell() - _LONGEST_TAIL))
    return source.read()
