"""What is written down about an upload, and its form on the disk."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, cast

Shelf = Literal["drafts", "comparisons", "trash"]
FORMAT = 1
TRIAL_FILE = "trial.json"
MARGINS_FILE = "margins.json"


@dataclass(frozen=True, slots=True)
class Limits:
    """How much an upload may hold. A spectral chart of 3 000 patches is about 1.5 MB of text."""

    file_bytes: int = 64 * 2**20
    total_bytes: int = 512 * 2**20
    files: int = 500


@dataclass(frozen=True, slots=True)
class StoredFile:
    """A file received: its name on the disk, the path it came under, its size, its SHA-256, its medium.

    ``medium`` is empty until the user has said something; ``left_out`` keeps a file but does not use it.
    """

    stored: str
    path: str
    size: int
    sha256: str
    medium: str = ""
    left_out: bool = False

    @property
    def name(self) -> str:
        """The last part of the path."""
        return self.path.rpartition("/")[2]

    @property
    def is_setting(self) -> bool:
        """Whether this is a trial or margins file and not a measurement."""
        return self.name.lower() in {TRIAL_FILE, MARGINS_FILE}


@dataclass(frozen=True, slots=True)
class Upload:
    """One comparison's files and what the user said about them."""

    id: str
    shelf: Shelf
    created: datetime
    title: str = ""
    question: str = ""
    house: str = ""
    condition: str = ""
    files: tuple[StoredFile, ...] = ()

    @property
    def fingerprint(self) -> str:
        """A digest of everything the result depends on."""
        facts = upload_to_json(self)
        return hashlib.sha256(json.dumps(facts, sort_keys=True).encode()).hexdigest()


def upload_to_json(upload: Upload) -> dict[str, Any]:
    """The upload as plain data; the shelf is the folder it lies in and is not repeated."""
    return {
        "format": FORMAT,
        "id": upload.id,
        "created": upload.created.isoformat(),
        "title": upload.title,
        "question": upload.question,
        "house": upload.house,
        "condition": upload.condition,
        "files": [
            {
                "stored": file.stored,
                "path": file.path,
                "size": file.size,
                "sha256": file.sha256,
                "medium": file.medium,
                "left_out": file.left_out,
            }
            for file in upload.files
        ],
    }


def upload_from_json(data: Mapping[str, Any], *, shelf: str) -> Upload:
    """The upload written down as ``data``; ValueError, KeyError or TypeError where it is none."""
    if data["format"] != FORMAT:
        raise ValueError(f"format {data['format']} is not {FORMAT}")
    return Upload(
        id=str(data["id"]),
        shelf=cast("Shelf", shelf),
        created=datetime.fromisoformat(data["created"]),
        title=str(data["title"]),
        question=str(data["question"]),
        house=str(data["house"]),
        condition=str(data["condition"]),
        files=tuple(
            StoredFile(
                stored=str(file["stored"]),
                path=str(file["path"]),
                size=int(file["size"]),
                sha256=str(file["sha256"]),
                medium=str(file["medium"]),
                left_out=bool(file["left_out"]),
            )
            for file in data["files"]
        ),
    )
