"""Notes and attached files about a thing, for the page that shows it."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.records.look import Look
from laydown.report.moments import moment_words
from laydown.trials.remarks import Attachment, Note
from laydown.trials.studio import Studio

# What a browser shows as a picture and nothing else; a drawing or a page may carry a script.
PICTURES = frozenset({"image/png", "image/jpeg", "image/gif", "image/webp"})


@dataclass(frozen=True, slots=True)
class NoteLine:
    """One note."""

    id: str
    when: str
    by: str
    words: str


@dataclass(frozen=True, slots=True)
class FileLine:
    """One attached file; ``about_size`` is its size in words."""

    id: str
    name: str
    kind: str
    about_size: str
    when: str
    by: str
    words: str
    private: bool


@dataclass(frozen=True, slots=True)
class NotesView:
    """Everything said about a thing; ``back`` is the page that shows it."""

    about: str
    back: str
    notes: tuple[NoteLine, ...]
    pictures: tuple[FileLine, ...]
    files: tuple[FileLine, ...]


@dataclass(frozen=True, slots=True)
class RemarkAgain:
    """A note or files that were refused, with what was typed."""

    refusal: str
    is_file: bool
    about: str
    back: str
    words: str
    kind: str
    private: bool


def notes_view(look: Look, *, about: str, back: str, studio: Studio) -> NotesView:
    """The notes and files about a thing, newest first."""
    notes = look.find(Note, about=about, order=("-at", "id"))
    attached = look.find(Attachment, about=about, order=("-at", "id"))
    zone = studio.time_zone
    return NotesView(
        about=about,
        back=back,
        notes=tuple(
            NoteLine(one.id, moment_words(one.at, time_zone=zone), one.by, one.words) for one in notes
        ),
        pictures=tuple(_file(one, zone) for one in attached if one.media_type in PICTURES),
        files=tuple(_file(one, zone) for one in attached if one.media_type not in PICTURES),
    )


def size_words(size: int) -> str:
    """Such as "3.4 MB"."""
    if size < 1000:
        return f"{size} bytes"
    return f"{size / 1000:.0f} kB" if size < 1_000_000 else f"{size / 1_000_000:.1f} MB"


def _file(one: Attachment, time_zone: str) -> FileLine:
    return FileLine(
        id=one.id,
        name=one.name,
        kind=one.kind,
        about_size=size_words(one.size),
        when=moment_words(one.at, time_zone=time_zone),
        by=one.by,
        words=one.words,
        private=one.private,
    )
