"""Files that are plainly no measurement: not taken, but their names are listed with the reason."""

from __future__ import annotations

from pathlib import PurePosixPath

_PICTURE = "a picture; only the measurement file is needed"
_REASONS = {
    **dict.fromkeys(
        (".zip", ".rar", ".7z", ".gz", ".tar"), "an archive; unpack it first and add what is in it"
    ),
    **dict.fromkeys((".png", ".jpg", ".jpeg", ".tif", ".tiff", ".gif", ".webp", ".heic", ".psd"), _PICTURE),
    **dict.fromkeys((".md", ".html", ".htm"), "a note, not a measurement file"),
    **dict.fromkeys((".pdf", ".doc", ".docx"), "a document; add the measurement file it was made from"),
    **dict.fromkeys((".db", ".ini", ".lnk", ".ics"), "a file of this computer's own"),
}


def why_passed_over(path: str) -> str:
    """Why a file is not taken, by its name: hidden, a picture, note or archive; "" where it is taken."""
    name = PurePosixPath(path.replace("\\", "/"))
    if any(part.startswith((".", "__MACOSX")) and part not in {".", ".."} for part in name.parts):
        return "a hidden file of this computer's own"
    return _REASONS.get(name.suffix.lower(), "")


def is_passed_over(path: str) -> bool:
    """Whether a file is plainly no measurement."""
    return bool(why_passed_over(path))
