"""Everything Laydown raises on purpose.

::

    LaydownError
    ├── RefusedInput          a file, folder or value that cannot be what it should be
    │   ├── UnreadableFile    a file that cannot mean measurements, or would be unsafe to read
    │   ├── BadSetting        a margins file, trial file or option that makes no sense
    │   ├── TooLarge          a file, or all files together, larger than is allowed
    │   ├── UnknownUpload     an upload that is not, or no longer, there
    │   ├── UnknownRecord     a kept thing (trial, sheet, roll ...) that is not, or no longer, there
    │   ├── ChangedMeanwhile  somebody else changed the same thing since it was shown
    │   ├── Contradiction     an act after which a trial would contradict itself
    │   └── AlteredFile       a kept or received file whose bytes are not the ones that were put away
    ├── NotAllowed            somebody may not do this: not signed in, or another role is needed
    │   └── TooManyAttempts   signing in failed so often that a wait is asked for
    ├── CannotKeep            the disk is full, the folder is read-only, the database is out of reach
    ├── UnlikeConditions      two things that may not be compared (conditions, ages, finishes)
    └── NotEnoughData         a metric whose patches, spectra or sheets are not there

Each error carries its facts as fields; the sentence is built in ``__str__``. Errors survive pickling, so
that they can cross a process border.
"""

from __future__ import annotations

from typing import Any


class LaydownError(Exception):
    """Base of all errors raised on purpose: what is wrong, where, and what to do about it."""

    def __init__(
        self,
        what: str,
        *,
        todo: str = "",
        file: str | None = None,
        line: int | None = None,
        patch: str | None = None,
    ) -> None:
        super().__init__(what)
        self.what = what
        self.todo = todo
        self.file = file
        self.line = line
        self.patch = patch

    def __str__(self) -> str:
        place = ", ".join(
            part
            for part in (
                self.file or "",
                f"line {self.line}" if self.line is not None else "",
                f"patch {self.patch}" if self.patch is not None else "",
            )
            if part
        )
        sentence = f"{place}: {self.what}" if place else self.what
        return f"{sentence} {self.todo}".strip()

    def __reduce__(self) -> tuple[Any, ...]:
        fields = {"todo": self.todo, "file": self.file, "line": self.line, "patch": self.patch}
        return _rebuild, (type(self), self.what, fields)


def _rebuild(kind: type[LaydownError], what: str, fields: dict[str, Any]) -> LaydownError:
    return kind(what, **fields)


class RefusedInput(LaydownError):  # noqa: N818 - reads as a sentence: "refused input"
    """A file, folder or value that cannot be what it should be."""


class UnreadableFile(RefusedInput):
    """A file that cannot mean measurements, or would be unsafe to read."""


class BadSetting(RefusedInput):
    """A margins file, trial file or option that makes no sense."""


class TooLarge(RefusedInput):
    """A file, or all files together, are larger than is allowed."""


class UnknownUpload(RefusedInput):
    """There is no upload of that id."""


class UnlikeConditions(LaydownError):  # noqa: N818
    """Two things that may not be compared: conditions, ages, finishes."""


class NotEnoughData(LaydownError):  # noqa: N818
    """A metric whose patches, spectra or sheets are not there."""


class UnknownRecord(RefusedInput):
    """There is no kept thing of that id."""


class ChangedMeanwhile(RefusedInput):
    """Somebody else changed the same thing since it was shown."""


class Contradiction(RefusedInput):
    """An act after which a trial would contradict itself, such as a cured sheet that was never printed."""


class AlteredFile(RefusedInput):
    """A kept or received file whose bytes are not the ones that were put away."""


class NotAllowed(LaydownError):  # noqa: N818
    """Somebody may not do this: not signed in, or another role is needed."""


class TooManyAttempts(NotAllowed):
    """Signing in failed so often that a wait is asked for."""


class CannotKeep(LaydownError):  # noqa: N818
    """The disk is full, the folder is read-only or the database is out of reach; nothing was changed."""
