"""A whole trial as one open archive: JSON with its schema, readings as CGATS and CSV, every file."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from typing import IO, Any

from laydown.kernel.version import __version__
from laydown.records.journal import Entry
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.sealed_zip import write_sealed_zip
from laydown.usecases.archives.archive_schema import archive_schema
from laydown.usecases.archives.reading_copies import reading_copies
from laydown.usecases.archives.trial_content import TrialContent, trial_content

ARCHIVE = "Laydown trial archive"
ARCHIVE_VERSION = 1
_AT_ONCE = 200
_READ_ME = """A trial of fine-art inkjet media, kept with Laydown {version}.

trial.json          every record of the trial, as plain JSON
trial.schema.json   what trial.json holds, field by field (JSON Schema)
journal.json        who did what when, with what was there before and after
readings/cgats      the readings, one CGATS.17 file for each table
readings/csv        the same numbers for spreadsheets; gloss readings in gloss.csv
files               every file as it was handed in or drawn, named by the first letters of its SHA-256
manifest.json       the SHA-256 and size of everything here

Laydown takes such an archive in again and refuses one in which a single byte was altered.
{invented}"""


def export_trial(records: Records, trial_id: str, target: IO[bytes], *, for_others: bool = False) -> None:
    """Write a trial's archive into an open file.

    Parameters
    ----------
    records
        Where the trial is kept.
    trial_id
        Which one.
    target
        Open for reading and writing, at its start.
    for_others
        Leave out prices, the client's name and own pictures of forms; private attachments never travel.

    Raises
    ------
    UnknownRecord
        There is no such trial.
    AlteredFile
        One of its files is no longer what was put away.
    """
    with records.look() as look:
        content = trial_content(look, trial_id, for_others=for_others)
        about = {
            "format": ARCHIVE,
            "version": ARCHIVE_VERSION,
            "laydown": __version__,
            "trial": {"id": trial_id, "name": content.facts.trial.name},
            "invented": content.facts.trial.invented,
            "made_at": records.now().isoformat(),
            "without": ["prices", "client"] if for_others else [],
        }
        write_sealed_zip(target, _members(look, content, for_others=for_others), about=about)


def file_member(sha256: str, name: str) -> str:
    """The name a file goes by in an archive."""
    safe = "".join(letter if letter.isalnum() or letter in "._- " else "_" for letter in name)
    return f"files/{sha256[:16]}-{safe.strip(' .') or 'file'}"


def _members(look: Look, content: TrialContent, *, for_others: bool) -> Iterator[tuple[str, bytes]]:
    trial = content.facts.trial
    yield (
        "README.txt",
        _READ_ME.format(
            version=__version__, invented="\nThis trial is invented.\n" if trial.invented else ""
        ).encode(),
    )
    listed = {sha256: file_member(sha256, name) for sha256, name in content.files.items()}
    yield "trial.json", _json({"$schema": "trial.schema.json", "things": content.plain(), "files": listed})
    yield "trial.schema.json", _json(archive_schema())
    if not for_others:  # what was there before may hold prices and clients
        yield "journal.json", _json([_entry(entry) for entry in _history(look, trial.id)])
    yield from reading_copies(look, content.facts)
    for sha256, member in listed.items():
        yield member, look.read_file(sha256)


def _history(look: Look, trial_id: str) -> Iterator[Entry]:
    offset = 0
    while entries := look.entries(trial_id=trial_id, limit=_AT_ONCE, offset=offset):
        yield from entries
        offset += len(entries)


def _entry(entry: Entry) -> dict[str, Any]:
    return asdict(entry) | {"at": entry.at.isoformat()}


def _json(value: Any) -> bytes:
    return json.dumps(value, ensure_ascii=False, indent=1).encode()
