"""Attach a photograph or another file to anything that is kept, and take it away again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import PurePosixPath
from typing import get_args

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting
from laydown.records.ledger import Records
from laydown.trials.remarks import Attachment, AttachmentKind
from laydown.usecases.acted import Acted
from laydown.usecases.trial.keep_note import trial_of

LARGEST_ATTACHMENT = Constant(
    float(100 * 2**20), "byte", "chosen here: large photographs, no films", "computed"
)
KINDS: tuple[AttachmentKind, ...] = get_args(AttachmentKind)
UNKNOWN_TYPE = "application/octet-stream"
_LONGEST_NAME = 160
_HEAD = 16  # bytes that tell what a file is


@dataclass(frozen=True, slots=True)
class ArrivingAttachment:
    """A file on its way in: what it is called, and its bytes in pieces."""

    name: str
    pieces: Iterable[bytes]


@dataclass(frozen=True, slots=True)
class _Kept:
    """A file that lies in the vault, and what its first bytes say it is."""

    name: str
    sha256: str
    size: int
    media_type: str


def attach_file(
    records: Records,
    pieces: Iterable[bytes],
    *,
    about: str,
    name: str,
    who: str,
    kind: AttachmentKind = "other",
    words: str = "",
    private: bool = False,
) -> Acted[Attachment]:
    """Keep one file about a thing; see ``attach_files``."""
    one = ArrivingAttachment(name, pieces)
    acted = attach_files(records, [one], about=about, who=who, kind=kind, words=words, private=private)
    return Acted(acted.thing[0], acted.entry_id)


def attach_files(
    records: Records,
    files: Sequence[ArrivingAttachment],
    *,
    about: str,
    who: str,
    kind: AttachmentKind = "other",
    words: str = "",
    private: bool = False,
) -> Acted[tuple[Attachment, ...]]:
    """Keep files about a thing, all or none; they come in pieces and are never whole in memory.

    ``private`` is for what shows other clients' work: it never goes into a file made for others.

    Raises
    ------
    BadSetting
        There is no file, or one of them is empty.
    TooLarge
        One is larger than ``LARGEST_ATTACHMENT``.
    UnknownRecord
        There is nothing of that id.
    CannotKeep
        The disk is full; nothing was kept.
    """
    if not files:
        raise BadSetting("no file was chosen.", todo="Choose a photograph or another file.")
    with records.look() as look:
        trial_of(look, about)  # before a long file comes in for nothing
    came = [_received(records, one) for one in files]
    with records.work("attached", who=who) as work:
        trial_id = trial_of(work, about)
        if trial_id is not None:
            work.about(trial_id)
        secret, what = "private " if private else "", "file" if kind == "other" else kind
        work.say(
            f"the {secret}{what}{'s' if len(came) > 1 else ''} {', '.join(f'“{one.name}”' for one in came)}"
        )
        kept = []
        for one in came:
            work.note_file(one.sha256, one.size)
            attached = Attachment(
                id=records.new_id(),
                trial_id=trial_id,
                about=about,
                kind=kind,
                name=one.name,
                media_type=one.media_type,
                size=one.size,
                sha256=one.sha256,
                at=work.now,
                by=who,
                private=private,
                words=words.strip(),
            )
            kept.append(work.add(attached))
        return Acted(tuple(kept), work.entry_id)


def remove_attachment(records: Records, attachment_id: str, *, who: str) -> Acted[Attachment]:
    """Take an attached file away; undoing brings it back."""
    with records.work("took away", who=who) as work:
        attached = work.get(Attachment, attachment_id)
        if attached.trial_id is not None:
            work.about(attached.trial_id)
        work.say(f"the file “{attached.name}”")
        work.remove(Attachment, attachment_id)
        return Acted(attached, work.entry_id)


def media_type_of(head: bytes) -> str:
    """What the first bytes of a file say it is; its name and what a browser claims are not believed.

    Only kinds that show pictures and nothing else are told apart: what may hold a script stays unknown.
    """
    if head.startswith(b"\x89PNG\r\n\x1a\n"):
        return "image/png"
    if head.startswith(b"\xff\xd8\xff"):
        return "image/jpeg"
    if head.startswith((b"GIF87a", b"GIF89a")):
        return "image/gif"
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "image/webp"
    return "application/pdf" if head.startswith(b"%PDF-") else UNKNOWN_TYPE


def plain_name(name: str) -> str:
    """The name of a file without folders or signs that no line of text may hold."""
    last = PurePosixPath(name.replace("\\", "/")).name
    clean = "".join(sign for sign in last if sign.isprintable()).strip()
    if len(clean) > _LONGEST_NAME:
        stem, dot, ending = clean.rpartition(".")
        room = _LONGEST_NAME - len(ending) - 1
        clean = f"{stem[:room]}.{ending}" if dot and room > 0 else clean[:_LONGEST_NAME]
    return clean or "a file without a name"


def _received(records: Records, file: ArrivingAttachment) -> _Kept:
    name, pieces = plain_name(file.name), iter(file.pieces)
    head = _head(pieces)
    if not head:
        raise BadSetting(
            "the file is empty.", todo="Choose it again; it may still have been copied.", file=name
        )
    limit = int(LARGEST_ATTACHMENT.value)
    kept = records.vault.keep_stream(chain([head], pieces), limit=limit, name=name)
    return _Kept(name, kept.sha256, kept.size, media_type_of(head))


def _head(pieces: Iterator[bytes]) -> bytes:
    head = b""
    for piece in pieces:
        head += piece
        if len(head) >= _HEAD:
            break
    return head
