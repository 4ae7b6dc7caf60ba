"""Answer a question about a reading: mend it, move it, leave it out, or keep it as it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.trial_facts import load_facts
from laydown.science.forms.matched import Matched
from laydown.science.readings import read_measurements
from laydown.trials.facts import TrialFacts
from laydown.trials.measured import Doubt, Reading
from laydown.trials.sheets import Sheet
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial
from laydown.usecases.forms.recognise_file import file_in_page_order
from laydown.usecases.measuring.answers import act_of, answer_text, code_of, words_of
from laydown.usecases.measuring.find_doubts import Seen, doubts_about, mix_ups_of, tables_of
from laydown.usecases.measuring.form_questions import form_pages, view_through_forms, ways_to_take
from laydown.usecases.measuring.mended_file import mended_file


def answer_doubt(
    records: Records, reading_id: str, *, kind: str, answer: str, who: str, seen: int | None = None
) -> Acted[Reading]:
    """Do what an answer says, and note who gave it when.

    A mended copy is written beside the file that was handed in, which stays as it was; a reading that is
    moved or mended is looked at again.

    Raises
    ------
    RefusedInput
        The question is not open, or what was read since does not speak for mending any more.
    BadSetting
        The answer is none of those offered.
    ChangedMeanwhile
        ``seen`` is given and somebody changed the reading after that revision.
    """
    with records.look() as look:
        reading = look.get(Reading, reading_id)
        looked_at = look.revision(Reading, reading_id)
        facts = load_facts(look, reading.trial_id)
        doubt = _open(reading, kind)
        if answer not in doubt.answers:
            raise BadSetting("this is none of the answers.", todo="Choose one of them.")
        changed, content = _done(look, facts, reading, doubt, answer, records.now())
        answered = replace(doubt, answer=answer, answered_at=records.now(), answered_by=who)
        doubts = tuple(answered if one is doubt else one for one in reading.doubts)
        changed = replace(changed, doubts=doubts)
        if changed.sheet_id != reading.sheet_id:
            changed = replace(changed, doubts=doubts_about(look, facts, changed))
    with records.work("answered", who=who) as work:
        open_trial(work, reading.trial_id)
        sheet = work.seek(Sheet, reading.sheet_id)
        work.say(
            f"“{words_of(answer)}” about {reading.file_name}" + (f" of sheet {sheet.code}" if sheet else "")
        )
        if content is not None:
            changed = replace(changed, mended_sha256=work.keep_file(content))
        if changed.set_aside_at is not None and reading.set_aside_at is None:
            changed = replace(changed, set_aside_at=work.now)
        return Acted(work.change(changed, seen=looked_at if seen is None else seen), work.entry_id)


def _open(reading: Reading, kind: str) -> Doubt:
    for doubt in reading.doubts:
        if doubt.kind == kind and doubt.answer == "":
            return doubt
    raise RefusedInput("this question is answered already.", todo="Undo the answer to give another.")


def _done(
    look: Look, facts: TrialFacts, reading: Reading, doubt: Doubt, answer: str, now: datetime
) -> tuple[Reading, bytes | None]:
    """The reading as the answer leaves it, and its mended file where it is mended."""
    act = act_of(answer)
    if act == "leave_out":
        return replace(reading, set_aside_at=now, set_aside_why=doubt.words), None
    if act == "move":
        sheet = next((one for one in facts.sheets if one.code == code_of(answer)), None)
        if sheet is None:
            raise RefusedInput("that sheet is not there any more.", todo="Place the reading by hand.")
        return replace(reading, sheet_id=sheet.id), None
    if act == "mend":
        return reading, _mended(look, facts, reading, answer)
    return reading, None


def _mended_by_form(look: Look, facts: TrialFacts, one: Seen, answer: str) -> bytes | None:
    """The readings beside the patches of the form's page, where the answer is about its form."""
    forms = form_pages(look, facts)
    if not one.tables:
        return None
    view = view_through_forms(one.tables[0], forms, other_chart=True)
    if view is None or not isinstance(view.match.found, Matched):
        return None
    if answer not in [answer_text(item.act, item.words) for item in ways_to_take(one.tables[0], view.match)]:
        return None
    content = look.read_file(one.reading.mended_sha256 or one.reading.file_sha256)
    tables = read_measurements(content, file=one.reading.file_name).tables
    words = f"Mended copy of {one.reading.file_name}: {words_of(answer)}"
    return file_in_page_order(tables, view.match.found, words=words)


def _mended(look: Look, facts: TrialFacts, reading: Reading, answer: str) -> bytes:
    """The mended copy; how to mend is found again from what is kept now."""
    one = Seen(reading, tables_of(look, reading))
    by_form = _mended_by_form(look, facts, one, answer)
    if by_form is not None:
        return by_form
    for found in mix_ups_of(look, facts, one):
        told = [answer_text(item.act, item.words) for item in found.answers]
        if answer in told and found.mending is not None:
            content = look.read_file(reading.mended_sha256 or reading.file_sha256)
            tables = read_measurements(content, file=reading.file_name).tables
            words = f"Mended copy of {reading.file_name}: {words_of(answer)}"
            return mended_file(tables, found.mending, words=words)
    raise RefusedInput(
        "with what was read since, nothing speaks for mending it any more.",
        todo="Keep it as it is, or set it aside and read the sheet again.",
    )
