"""The list of comparisons."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.upload_record import Upload
from laydown.web.desk import measured_files, media_of


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the list."""

    id: str
    title: str
    made: str
    made_iso: str
    media: tuple[str, ...]
    files: str


@dataclass(frozen=True, slots=True)
class ComparisonsView:
    """Kept comparisons, unfinished ones and deleted ones; ``said`` is a sentence about what was just done."""

    kept: tuple[Entry, ...]
    drafts: tuple[Entry, ...]
    deleted: tuple[Entry, ...]
    said: str = ""


def entry_of(upload: Upload) -> Entry:
    """The line for one upload."""
    names, measured = media_of(upload), measured_files(upload)
    # What cannot be used was left out when the files were arranged, and names no medium.
    used = [file for file in measured if not file.left_out]
    media = tuple(dict.fromkeys(names[file.stored] for file in used))
    return Entry(
        id=upload.id,
        title=upload.title or title_from(media),
        made=_day(upload),
        made_iso=upload.created.isoformat(),
        media=media,
        files={0: "no measurement file", 1: "1 file"}.get(len(measured), f"{len(measured)} files"),
    )


def title_from(media: tuple[str, ...]) -> str:
    """A title for a comparison nobody named."""
    if not media:
        return "Nothing to compare yet"
    return " and ".join(media[:2]) if len(media) < 3 else f"{media[0]}, {media[1]} and {len(media) - 2} more"


def _day(upload: Upload) -> str:
    when = upload.created.astimezone()  # the reader sits at this computer, so its own time is meant
    return f"{when.day} {when:%B %Y, %H:%M}"
