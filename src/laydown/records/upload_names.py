"""Names of uploaded files: made harmless, and read for the medium each file belongs to."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from pathlib import PurePosixPath

from laydown.kernel.errors import RefusedInput

LONGEST_PART = 120
LONGEST_SLUG = 40
# Categories of characters that can hide or reorder text: control, format, private use, surrogate, unassigned.
_HIDDEN = {"Cc", "Cf", "Co", "Cs", "Cn"}


def clean_path(path: str) -> str:
    """A path as a browser gives it, made safe to show and to keep: folders parted by ``/``, no way upwards.

    Raises
    ------
    RefusedInput
        Nothing is left of the name.
    """
    normal = unicodedata.normalize("NFC", path).replace("\\", "/")
    visible = "".join(c for c in normal if unicodedata.category(c) not in _HIDDEN)
    parts = [part.strip() for part in visible.split("/")]
    kept = [_shorten(part) for part in parts if part not in {"", ".", ".."}]
    if not kept:
        raise RefusedInput("a file arrived without a name.", todo="Rename it and upload it again.")
    return "/".join(kept[-6:])


def disk_name(number: int, path: str) -> str:
    """The name a file gets on the disk: a number, plain letters of its own name, its suffix.

    The number in front keeps names apart and defuses names that mean devices on some systems (``CON``).
    """
    name = PurePosixPath(path)
    plain = unicodedata.normalize("NFKD", name.stem).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-")[:LONGEST_SLUG].rstrip("-") or "file"
    suffix = re.sub(r"[^A-Za-z0-9]", "", name.suffix)[:8].lower()
    return f"{number:04d}-{slug}" + (f".{suffix}" if suffix else "")


def suggest_media(paths: Sequence[str]) -> dict[str, str]:
    """The medium each file most likely belongs to, by the folders it came in.

    A folder of folders: each inner folder is a medium. Several folders: each is a medium. Loose files, or
    one folder of loose files: each file is a medium.
    """
    split = {path: path.split("/") for path in paths}
    trials = {parts[0] for parts in split.values() if len(parts) > 2}
    roots = {parts[0] for parts in split.values() if len(parts) == 2}
    loose = {path for path, parts in split.items() if len(parts) == 1}
    lone_folder = len(roots) == 1 and not trials and not loose
    media = {}
    for path, parts in split.items():
        if len(parts) > 2:
            media[path] = parts[1]
        elif len(parts) == 2 and parts[0] not in trials and not lone_folder:
            media[path] = parts[0]
        else:
            media[path] = PurePosixPath(parts[-1]).stem
    return _apart(media)


def _apart(media: dict[str, str]) -> dict[str, str]:
    """Loose files of the same stem but different suffix are different media; folders keep their name."""
    loose = Counter(media[p] for p in media if PurePosixPath(p).stem == media[p] and "/" not in p)
    return {p: (p if "/" not in p and loose[m] > 1 else m) for p, m in media.items()}


def _shorten(part: str) -> str:
    if len(part) <= LONGEST_PART:
        return part
    name = PurePosixPath(part)
    suffix = name.suffix[:12]
    return name.stem[: LONGEST_PART - len(suffix) - 1] + "…" + suffix
