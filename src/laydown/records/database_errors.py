"""Turns trouble with a database into sentences: full disk, read-only folder, server out of reach."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import exc
from sqlalchemy.exc import DBAPIError, IntegrityError, ProgrammingError

from laydown.kernel.errors import AlteredFile, CannotKeep, LaydownError, RefusedInput

_SENTENCES: tuple[tuple[tuple[str, ...], str, str], ...] = (
    (
        ("disk is full", "no space left", "could not extend file", "could not write"),
        "the disk is full; nothing was changed.",
        "Free some space and try again.",
    ),
    (
        ("readonly", "read-only", "unable to open", "permission denied"),
        "the records may not be written (read-only folder or no permission); nothing was changed.",
        "Check the data folder's permissions.",
    ),
    (
        ("disk i/o error",),
        "the disk could not be read or written; nothing was changed.",
        "See that it is not full and is sound, then try again.",
    ),
    (
        ("locked", "lock timeout"),
        "somebody else was working on the records for so long that this was given up; nothing was changed.",
        "Try again.",
    ),
)
_DAMAGED = ("malformed", "not a database")


@contextmanager
def plain_database_errors() -> Iterator[None]:
    """Raises a sentence in place of what the database said.

    Raises
    ------
    CannotKeep
        The disk is full, the folder is read-only, or the database is out of reach.
    RefusedInput
        Something else refers to what should be taken away, or there may be only one of these.
    AlteredFile
        The database's file is damaged.
    """
    try:
        yield
    except exc.TimeoutError as error:
        raise CannotKeep(
            "too much is being asked of the records at once; nothing was changed.", todo="Try again."
        ) from error
    except ProgrammingError:
        raise  # a mistake of this program's, which no sentence should hide
    except DBAPIError as error:
        raise _sentence(error) from error


def _sentence(error: DBAPIError) -> LaydownError:
    said = " ".join(str(error.orig).split())
    low = said.lower()
    if isinstance(error, IntegrityError):
        return _refusal(low) or CannotKeep(f"the database refused this ({said}); nothing was changed.")
    if any(word in low for word in _DAMAGED):
        return AlteredFile(
            "the file that holds the records is damaged.",
            todo="Keep a copy of it as it is, then restore a backup: laydown restore.",
        )
    for words, sentence, todo in _SENTENCES:
        if any(word in low for word in words):
            return CannotKeep(sentence, todo=todo)
    return CannotKeep(
        f"the database could not be used ({said}); nothing was changed.",
        todo="See that it runs and can be reached, then try again.",
    )


def _refusal(said: str) -> RefusedInput | None:
    if "foreign key" in said:
        return RefusedInput(
            "something else still refers to this, or this refers to something that is not there.",
            todo="Take that away first, or leave this in place.",
        )
    if "unique" in said or "duplicate key" in said:
        return RefusedInput("there is one of these already.", todo="Change the one that is there.")
    return None
