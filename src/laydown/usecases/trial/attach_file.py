"""Attach a photograph or another file to anything that is kept, and take it away again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
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
    """Keep a file about a thing; it comes in pieces and is never whole in memory.

    ``private`` is for what shows other clients' work: it never goes into a file made for others.

    Raises
    ------
    BadSetting
        The file is empty.
    TooLarge
        It is larger than ``LARGEST_ATTACHMENT``.
    UnknownRecord
        There is nothing of that id.
    CannotKeep
        The disk is full; nothing was kept.
    """
    with records.look() as look:
        trial_of(look, about)  # before a long file comes in for nothing
    told = plain_name(name)
    arriving = iter(pieces)
    head = _head(arriving)
    if not head:
        raise BadSetting(
            "the file is empty.", todo="Choose it again; it may still have been copied.", file=told
        )
    limit = int(LARGEST_ATTACHMENT.value)
    kept = records.vault.keep_stream(_again(head, arriving), limit=limit, name=told)
    with records.work("attached", who=who) as work:
        trial_id = trial_of(work, about)
        if trial_id is not None:
            work.about(trial_id)
        work.note_file(kept.sha256, kept.size)
        work.say(f"{'a private ' if private else 'the '}{'file' if kind == 'other' else kind} “{told}”")
        attached = Attachment(
            id=records.new_id(),
            trial_id=trial_id,
            about=about,
            kind=kind,
            name=told,
            media_type=media_type_of(head),
            size=kept.size,
            sha256=kept.sha256,
            at=work.now,
            by=who,
            private=private,
            words=words.strip(),
        )
        return Acted(work.add(attached), work.entry_id)


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


def _head(pieces: Iterator[bytes]) -> bytes:
    head = b""
    for piece in pieces:
        head += piece
        if len(head) >= _HEAD:
            break
    return head


def _again(head: bytes, rest: Iterator[bytes]) -> Iterator[bytes]:
    yield head
    yield from rest
