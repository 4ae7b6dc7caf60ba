"""What a page's form sent: read within limits, checked to come from a page of ours, given as typed values."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import AsyncIterator, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse

from laydown.kernel.errors import BadSetting, NotAllowed
from laydown.report.lengths import parse_length
from laydown.report.moments import parse_day, parse_moment
from laydown.trials.studio import Studio
from laydown.web.people import Person, person_of

TOKEN_FIELD = "csrf"
TOKEN_HEADER = "x-csrf-token"
_MOST_FIELDS = 2000
_LONGEST_TEXT = 20_000
BOUNDLESS = 1e6


def token_of(secret: bytes, person: Person) -> str:
    """The word a page of this person's session puts into its forms, that no other page can know."""
    return hmac.new(secret, f"form {person.session}".encode(), hashlib.sha256).hexdigest()


def check_token(request: Request, in_form: str = "") -> None:
    """Refuse what does not carry the word of the session, in its head or in its form.

    Raises
    ------
    NotAllowed
        The word is missing or another one.
    """
    given = request.headers.get(TOKEN_HEADER) or in_form
    wanted = token_of(request.app.state.desk.secret, person_of(request))
    if not hmac.compare_digest(wanted.encode(), given.encode()):
        raise NotAllowed(
            "this form was not made for your session.", todo="Open the page again, then send it."
        )


def plain_number(value: float) -> str:
    """A number as people write it, never as 1e+06."""
    return f"{value:.10f}".rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class Form:
    """The fields of a form. A field that was not sent counts as empty."""

    fields: FormData

    def text(self, name: str) -> str:
        """Words, trimmed."""
        value = self.fields.get(name, "")
        text = value.strip() if isinstance(value, str) else ""
        if len(text) > _LONGEST_TEXT:
            raise BadSetting(f"{name}: that is too long.", todo=f"At most {_LONGEST_TEXT} characters.")
        return text.replace("\r\n", "\n").replace("\x00", "")

    def texts(self, names: Iterable[str]) -> dict[str, str]:
        """Several fields as they were typed, whether they can be read or not."""
        return {name: self.text(name) for name in names}

    def secret(self, name: str) -> str:
        """A password, exactly as typed."""
        value = self.fields.get(name, "")
        return value if isinstance(value, str) else ""

    def must(self, name: str, what: str) -> str:
        """Words that must be there."""
        text = self.text(name)
        if not text:
            raise BadSetting(f"{what} is missing.", todo="Fill it in.")
        return text

    def many(self, name: str) -> tuple[str, ...]:
        """All values sent under one name, in order."""
        return tuple(value.strip() for value in self.fields.getlist(name) if isinstance(value, str))

    def flag(self, name: str) -> bool:
        """Whether a box was ticked."""
        return self.text(name) in {"on", "yes", "1", "true"}

    def choice(self, name: str, allowed: Sequence[str], what: str) -> str:
        """One of several words."""
        text = self.text(name)
        if text not in allowed:
            raise BadSetting(f'{what}: "{text}" is not one of {", ".join(allowed)}.', todo="Choose one.")
        return text

    def yes_no(self, name: str) -> bool | None:
        """Yes, no, or not stated."""
        return {"yes": True, "no": False}.get(self.text(name))

    def number(self, name: str, what: str, *, low: float, high: float) -> float | None:
        """A number; a decimal comma is understood. None where nothing was typed.

        Bounds of ``BOUNDLESS`` and more only keep out slips of the keyboard and are not told.
        """
        text = self.text(name)
        if not text:
            return None
        try:
            value = float(text.replace(",", "."))
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            told = (
                f"from {plain_number(low)}"
                if high >= BOUNDLESS
                else (f"from {plain_number(low)} to {plain_number(high)}")
            )
            too_large = high >= BOUNDLESS and value > high
            raise BadSetting(
                f'{what}: "{text}" is {"far too large" if too_large else f"not a number {told}"}.',
                todo="Correct it.",
            )
        return value

    def whole(self, name: str, what: str, *, low: int, high: int) -> int | None:
        """A whole number, or None where nothing was typed."""
        value = self.number(name, what, low=low, high=high)
        if value is not None and value != int(value):
            raise BadSetting(f"{what}: {plain_number(value)} is not a whole number.", todo="Correct it.")
        return None if value is None else int(value)

    def length(self, name: str, what: str, *, studio: Studio, long: bool = False) -> float | None:
        """A length in mm."""
        return parse_length(self.text(name), units=studio.units, long=long, what=what)

    def moment(self, name: str, what: str, *, studio: Studio) -> datetime | None:
        """A moment in UTC."""
        return parse_moment(self.text(name), time_zone=studio.time_zone, what=what)

    def day(self, name: str, what: str) -> date | None:
        """A day."""
        return parse_day(self.text(name), what=what)

    def files(self, name: str) -> tuple[UploadFile, ...]:
        """The files that were chosen."""
        return tuple(
            file for file in self.fields.getlist(name) if isinstance(file, UploadFile) and file.filename
        )


async def posted(request: Request) -> AsyncIterator[Form]:
    """A dependency of routes: the form that was sent, once it is known to come from a page of ours."""
    async with request.form(max_fields=_MOST_FIELDS, max_files=_MOST_FIELDS) as fields:
        form = Form(fields)
        check_token(request, form.text(TOKEN_FIELD))
        yield form


def done(address: str, entry_id: str, *, at: str = "") -> RedirectResponse:
    """On to a page that says what was just done, and offers to undo it; ``at`` is the place on the page."""
    mark = "&" if "?" in address else "?"
    return RedirectResponse(f"{address}{mark}done={entry_id}{'#' + at if at else ''}", status_code=303)
