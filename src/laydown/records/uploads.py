"""Keeps what people upload: one folder per comparison, whole or not at all, deleted only into a trash folder.

On disk, below the data folder::

    drafts/<id>/        files received, comparison not yet worked out
    comparisons/<id>/   kept comparisons
    trash/<id>/         deleted ones, until restored (or removed by hand)

Each holds ``upload.json`` (what is kept, under which names) and ``files/``. A file counts only once
``upload.json`` names it, and both are written aside, flushed to the disk and renamed, so that a computer
switched off half-way loses at most the file it was receiving. Names on disk are made here; the names people
gave live only in ``upload.json``.
"""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

from laydown.kernel.errors import RefusedInput, UnknownUpload
from laydown.records.durable_writing import flush_folder, write_durably
from laydown.records.process_lock import Turn
from laydown.records.receiving import Incoming
from laydown.records.upload_names import clean_path, disk_name
from laydown.records.upload_record import (
    Limits,
    Shelf,
    StoredFile,
    Upload,
    upload_from_json,
    upload_to_json,
)

_ID = re.compile(r"[0-9a-f]{16}")
_MANIFEST = "upload.json"
_FILES = "files"
ABANDONED_AFTER = timedelta(days=30)
STALE_AFTER = timedelta(hours=1)  # what is half written or empty and younger may be somebody's at this moment


class UploadStore:
    """The uploads of one data folder; safe to use from several threads and processes of one computer."""

    def __init__(self, folder: Path, *, clock: Callable[[], datetime], limits: Limits | None = None) -> None:
        self.folder = folder
        self.clock = clock
        self.limits = limits or Limits()
        self._turn = Turn(folder / "uploads.lock")

    def list(self, shelf: Shelf) -> tuple[Upload, ...]:
        """Everything on a shelf, newest first; folders that are not whole are passed over."""
        place = self.folder / shelf
        if not place.is_dir():
            return ()
        found = [self._read(path) for path in place.iterdir() if _ID.fullmatch(path.name)]
        whole = [upload for upload in found if upload is not None]
        return tuple(sorted(whole, key=lambda upload: (upload.created, upload.id), reverse=True))

    def get(self, upload_id: str, *, shelves: tuple[Shelf, ...] = ("comparisons", "drafts")) -> Upload:
        """The upload of that id.

        Raises
        ------
        UnknownUpload
            No shelf named holds it, or the id cannot be one.
        """
        if _ID.fullmatch(upload_id):
            upload = self._on_shelf(upload_id, shelves)
            if upload is None:
                with self._turn:  # it may have been missed while it moved from one shelf to another
                    upload = self._on_shelf(upload_id, shelves)
            if upload is not None:
                return upload
        raise UnknownUpload("there is no such comparison.", todo="It may have been deleted.")

    def start(self) -> Upload:
        """An empty draft."""
        upload = Upload(id=secrets.token_hex(8), shelf="drafts", created=self.clock())
        (self.folder / "drafts" / upload.id / _FILES).mkdir(parents=True)
        self._write(upload)
        return upload

    def receive(self, draft_id: str, path: str) -> Incoming:
        """Begin to receive a file of a draft; nothing is kept until the result's ``finish`` is called.

        Raises
        ------
        RefusedInput
            The draft already holds as many files as are allowed.
        """
        draft = self.get(draft_id, shelves=("drafts",))
        clean = clean_path(path)
        self._refuse_another(draft.files, clean)
        return Incoming(
            self.folder / "drafts" / draft_id / _FILES,
            clean,
            limits=self.limits,
            room=self._room(draft.files),
            finished=lambda incoming: self._add(draft_id, incoming),
        )

    def _add(self, draft_id: str, incoming: Incoming) -> StoredFile:
        with self._turn:
            draft = self.get(draft_id, shelves=("drafts",))
            others = tuple(file for file in draft.files if file.path != incoming.path)
            # Others may have come in while this one was received.
            self._refuse_another(others, incoming.path)
            incoming.refuse_beyond(self._room(others))
            number = 1 + max((int(file.stored[:4]) for file in draft.files), default=0)
            stored = disk_name(number, incoming.path)
            folder = self.folder / "drafts" / draft_id / _FILES
            incoming.part.replace(folder / stored)
            flush_folder(folder)
            file = StoredFile(stored, incoming.path, incoming.size, incoming.digest)
            self._write(replace(draft, files=(*others, file)))
            for old in draft.files:
                if old.path == incoming.path:
                    (folder / old.stored).unlink(missing_ok=True)
            return file

    def describe(
        self,
        upload_id: str,
        *,
        title: str,
        question: str,
        house: str,
        condition: str = "",
        media: Mapping[str, str],
        left_out: frozenset[str] = frozenset(),
    ) -> Upload:
        """Write down what the user said; ``media`` holds the medium of each file by its stored name."""
        with self._turn:
            upload = self.get(upload_id)
            files = tuple(
                replace(
                    file,
                    medium=media.get(file.stored, file.medium).strip()[:120],
                    left_out=file.stored in left_out,
                )
                for file in upload.files
            )
            changed = replace(
                upload,
                title=title.strip()[:200],
                question=question.strip()[:500],
                house=house,
                condition=condition,
                files=files,
            )
            self._write(changed)
            return changed

    def keep(self, draft_id: str) -> Upload:
        """Turn a draft into a kept comparison, in one step."""
        return self._move(draft_id, "drafts", "comparisons")

    def delete(self, upload_id: str) -> Upload:
        """Move a comparison or a draft to the trash, from where ``restore`` brings it back."""
        return self._move(upload_id, self.get(upload_id).shelf, "trash")

    def restore(self, upload_id: str) -> Upload:
        """Bring a deleted comparison back; what was a draft comes back as a comparison to be run again."""
        return self._move(upload_id, "trash", "comparisons")

    def tidy(self) -> None:
        """Remove what was half written, and move drafts nobody came back to into the trash.

        Another process may be receiving just now: what is young is left alone.
        """
        now = self.clock()
        with self._turn:
            for half in ("*/*/*.part", f"*/*/{_FILES}/*.part"):
                for part in self.folder.glob(half):
                    if _age(part, now) > STALE_AFTER:
                        part.unlink(missing_ok=True)
            for draft in self.list("drafts"):
                if now - draft.created > (ABANDONED_AFTER if draft.files else STALE_AFTER):
                    self.delete(draft.id)

    def path_of(self, upload: Upload, file: StoredFile) -> Path:
        """Where a file of an upload lies on the disk."""
        return self.folder / upload.shelf / upload.id / _FILES / file.stored

    def _move(self, upload_id: str, source: Shelf, target: Shelf) -> Upload:
        with self._turn:
            upload = self.get(upload_id, shelves=(source,))
            (self.folder / target).mkdir(parents=True, exist_ok=True)
            (self.folder / source / upload_id).rename(self.folder / target / upload_id)
            flush_folder(self.folder / target)
            flush_folder(self.folder / source)
            return replace(upload, shelf=target)

    def _refuse_another(self, files: tuple[StoredFile, ...], path: str) -> None:
        if len(files) >= self.limits.files:
            raise RefusedInput(
                f"a comparison can hold {self.limits.files} files.",
                todo="Split the trial into smaller comparisons.",
                file=path,
            )

    def _room(self, files: tuple[StoredFile, ...]) -> int:
        return self.limits.total_bytes - sum(file.size for file in files)

    def _on_shelf(self, upload_id: str, shelves: tuple[Shelf, ...]) -> Upload | None:
        found = (self._read(self.folder / shelf / upload_id) for shelf in shelves)
        return next((upload for upload in found if upload is not None), None)

    def _read(self, place: Path) -> Upload | None:
        try:
            text = (place / _MANIFEST).read_text(encoding="utf-8")
            return upload_from_json(json.loads(text), shelf=place.parent.name)
        except (OSError, ValueError, KeyError, TypeError):
            return None

    def _write(self, upload: Upload) -> None:
        place = self.folder / upload.shelf / upload.id
        text = json.dumps(upload_to_json(upload), ensure_ascii=False, indent=1)
        write_durably(place / _MANIFEST, text.encode("utf-8"))


def _age(path: Path, now: datetime) -> timedelta:
    """How long ago a file was last written; no time where it is gone."""
    try:
        return now - datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except FileNotFoundError:
        return timedelta(0)
