"""What the journal's page shows."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import islice

from laydown.records.journal import Change, Entry
from laydown.records.look import Look
from laydown.records.trial_facts import STUDIO_ID
from laydown.report.moments import moment_words
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial

PAGE_LENGTH = 50
FIELDS_SHOWN = 12
_LONGEST_VALUE = 160


@dataclass(frozen=True, slots=True)
class ChangedField:
    """One field of one thing, before and after, in words."""

    thing: str
    field: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class JournalLine:
    """One act."""

    id: str
    when: str
    when_iso: str
    who: str
    words: str
    trial: str
    trial_id: str
    state: str
    fields: tuple[ChangedField, ...]
    more_fields: int


@dataclass(frozen=True, slots=True)
class JournalView:
    """One page of the journal. ``query`` keeps what was asked for in the links to other pages."""

    title: str
    lines: tuple[JournalLine, ...]
    number: int
    more: bool
    query: str


def journal_view(look: Look, *, trial_id: str, record_id: str, number: int, length: int) -> JournalView:
    """One page of the journal, newest first."""
    entries = look.entries(
        trial_id=trial_id or None,
        record_id=record_id or None,
        limit=length + 1,
        offset=(number - 1) * length,
    )
    shown = entries[:length]
    undone = look.undone_by([entry.id for entry in shown])
    named = {entry.trial_id for entry in shown if entry.trial_id}
    trials = {trial.id: trial.name for trial in look.find_any(Trial, "id", named)}
    studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
    query = f"trial={trial_id}&" if trial_id else f"thing={record_id}&" if record_id else ""
    return JournalView(
        title=f"Journal of {trials[trial_id]}" if trial_id in trials else "Journal",
        lines=tuple(_line(entry, undone, trials, studio) for entry in shown),
        number=number,
        more=len(entries) > length,
        query=query,
    )


def entry_view(look: Look, entry_id: str) -> JournalLine:
    """One act with everything it changed.

    Raises
    ------
    UnknownRecord
        There is no such entry.
    """
    entry = look.entry(entry_id)
    studio = look.seek(Studio, STUDIO_ID) or Studio(id=STUDIO_ID)
    trials = {one.id: one.name for one in look.find_any(Trial, "id", [entry.trial_id or ""])}
    return _line(entry, look.undone_by([entry.id]), trials, studio, shown=None)


def _line(
    entry: Entry,
    undone: dict[str, str],
    trials: dict[str, str],
    studio: Studio,
    shown: int | None = FIELDS_SHOWN,
) -> JournalLine:
    fields = (field for change in entry.changes for field in _fields(change))
    return JournalLine(
        id=entry.id,
        when=moment_words(entry.at, time_zone=studio.time_zone),
        when_iso=entry.at.isoformat(),
        who=entry.who,
        words=f"{entry.action} {entry.words}".strip(),
        trial=trials.get(entry.trial_id or "", ""),
        trial_id=entry.trial_id or "",
        state="undone" if entry.id in undone else "final" if entry.final else "",
        fields=tuple(islice(fields, shown)),
        more_fields=sum(1 for _ in fields),
    )


def _fields(change: Change) -> tuple[ChangedField, ...]:
    before, after = change.before or {}, change.after or {}
    names = [name for name in {**before, **after} if before.get(name) != after.get(name)]
    return tuple(
        ChangedField(change.noun, name.replace("_", " "), _words(before.get(name)), _words(after.get(name)))
        for name in names
        if name not in {"id", "trial_id"} and (before.get(name) or after.get(name))
    )


def _words(value: object) -> str:
    if value is None or value in ("", []):
        return "nothing"
    text = str(value)
    return text if len(text) <= _LONGEST_VALUE else f"{text[:_LONGEST_VALUE]} …"
