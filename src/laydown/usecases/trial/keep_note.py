"""Keep a note about anything that is kept, and take it away again."""

from __future__ import annotations

from laydown.kernel.errors import BadSetting, UnknownRecord
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.references_query import things_with_ids
from laydown.trials.remarks import Note
from laydown.trials.trial import Trial
from laydown.usecases.acted import Acted

LONGEST_NOTE = 10_000
_BEGINNING = 60


def keep_note(records: Records, about: str, words: str, *, who: str) -> Acted[Note]:
    """Keep words about a thing, known by its id; which trial it belongs to follows from that.

    Raises
    ------
    BadSetting
        There are no words, or too many.
    UnknownRecord
        There is nothing of that id.
    """
    with records.work("noted", who=who) as work:
        trial_id = trial_of(work, about)
        text = words.strip()
        if not text:
            raise BadSetting("the note is empty.", todo="Write what was seen or done.")
        if len(text) > LONGEST_NOTE:
            raise BadSetting(
                f"the note is longer than {LONGEST_NOTE} characters.", todo="Attach it as a file."
            )
        if trial_id is not None:
            work.about(trial_id)
        work.say(f"“{beginning(text)}”")
        note = Note(id=records.new_id(), trial_id=trial_id, about=about, at=work.now, by=who, words=text)
        return Acted(work.add(note), work.entry_id)


def remove_note(records: Records, note_id: str, *, who: str) -> Acted[Note]:
    """Take a note away; undoing brings it back."""
    with records.work("took away", who=who) as work:
        note = work.get(Note, note_id)
        if note.trial_id is not None:
            work.about(note.trial_id)
        work.say(f"the note “{beginning(note.words)}”")
        work.remove(Note, note_id)
        return Acted(note, work.entry_id)


def trial_of(look: Look, about: str) -> str | None:
    """The trial a thing belongs to, None where it belongs to none.

    Raises
    ------
    UnknownRecord
        There is nothing of that id.
    """
    thing = things_with_ids(look, [about]).get(about)
    if thing is None:
        raise UnknownRecord(
            "what this is about is not there.", todo="It may have been taken away; see the journal."
        )
    if isinstance(thing, Trial):
        return thing.id
    found: str | None = getattr(thing, "trial_id", None)
    return found


def beginning(text: str) -> str:
    """The first words of a text, on one line."""
    line = " ".join(text.split())
    return line if len(line) <= _BEGINNING else f"{line[:_BEGINNING].rstrip()} …"
