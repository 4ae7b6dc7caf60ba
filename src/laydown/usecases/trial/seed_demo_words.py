"""What the invented studio wrote down: its brief, one dated change to it, notes, and a retrace."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime

from laydown.trials.brief_changes import alterations
from laydown.trials.remarks import Note
from laydown.trials.retracing import AnsweredCheck, MarkedSymptom, Retrace, TriedFix
from laydown.trials.seals import seal_of
from laydown.trials.trial import Brief, BriefChange, Criterion, Gate, WantedDifference
from laydown.usecases.trial.seed_demo_course import BENCH

OWNER = "Ada"
QUESTION = (
    "Is any of these four media better than our house cotton for limited editions, "
    "and is the difference real?"
)
_SEALED = datetime(2026, 2, 5, 10, 0, tzinfo=UTC)
_RETRACED = datetime(2026, 2, 12, 10, 30, tzinfo=UTC)

_INVENTED = (
    "Everything in this trial is invented: media, printer, people, readings. Its files come from a model of "
    "printing whose true values are known, so that the answer can be held against them."
)
_SUPPLIED_PROFILE = (
    "No own profile for this one yet: its pictures are printed with the supplier's. They are no fair rival "
    "in the look round until it has one; the chart is not concerned."
)
_PRINTED_AGAIN = "Printed again on the spare at once, same box, same settings."
_TOO_EARLY = (
    "Read three hours after printing, by mistake. Read again the next day; the early reading stays on record "
    "and out of the comparison."
)
_SETTLED = (
    "Has a barrier layer, so that 48 h would be usual before measuring. One sheet was read again and again: "
    "from nine hours on nothing moves. 24 h are enough here for measuring, not for glazing."
)


def demo_brief(trial_id: str) -> Brief:
    """The brief, sealed four days before the first print."""
    brief = Brief(
        id="demo-brief",
        trial_id=trial_id,
        question=QUESTION,
        products=("framed paper", "wrapped canvas"),
        sizes="A3 to 60 x 80 cm",
        display_light="gallery spots, warm white; some behind a north window",
        viewing_distance="1 to 2 m",
        glazing="paper behind glass, canvas without",
        coating="canvas two coats, paper none",
        must_match="the 2025 editions on the house cotton",
        gates=(
            Gate(name="feeds without a strike", words="10 sheets or 5 m"),
            Gate(name="no flakes on a full black"),
            Gate(name="no cold white beside the house cotton", words="seen in the gallery's light"),
        ),
        criteria=(
            Criterion(name="look in the gallery's light", weight=40.0),
            Criterion(name="deep black", weight=25.0, finding="dmax_visual"),
            Criterion(name="range of colours", weight=20.0, finding="gamut_volume"),
            Criterion(name="cost per good print", weight=15.0),
        ),
        judges=f"{OWNER}, {BENCH} and the two artists of the spring editions",
        lights="gallery spots; north window before noon",
        differences=(WantedDifference(finding="dmax_visual", amount=0.05),),
        stop_date=date(2026, 2, 20),
        words="Invented, like everything in this trial.",
    )
    return replace(brief, sealed_at=_SEALED, sealed_by=OWNER, seal=seal_of(brief, at=_SEALED, by=OWNER))


def demo_brief_changes(brief: Brief) -> tuple[BriefChange, ...]:
    """One dated change: a week more."""
    found = alterations(brief, replace(brief, stop_date=date(2026, 2, 27)))
    return tuple(
        BriefChange(
            id=f"demo-brief-change-{number}",
            trial_id=brief.trial_id,
            at=datetime(2026, 2, 10, 16, 40, tzinfo=UTC),
            by=OWNER,
            field=one.field,
            part=one.part,
            before=one.before,
            after=one.after,
            before_plain=one.before_plain,
            after_plain=one.after_plain,
            why="One of the judges is away until the 24th. Nothing had been compared yet.",
        )
        for number, one in enumerate(found, start=1)
    )


def demo_notes(
    trial_id: str, *, gullwing_id: str, samphire_id: str, early_sheet_id: str, spoiled_sheet_id: str
) -> tuple[Note, ...]:
    """Notes as they are written at the bench."""
    told = (
        (trial_id, datetime(2026, 2, 2, 11, 0, tzinfo=UTC), OWNER, _INVENTED),
        (gullwing_id, datetime(2026, 2, 6, 12, 0, tzinfo=UTC), OWNER, _SUPPLIED_PROFILE),
        (spoiled_sheet_id, datetime(2026, 2, 9, 12, 40, tzinfo=UTC), BENCH, _PRINTED_AGAIN),
        (early_sheet_id, datetime(2026, 2, 10, 9, 0, tzinfo=UTC), OWNER, _TOO_EARLY),
        (samphire_id, datetime(2026, 2, 10, 18, 0, tzinfo=UTC), OWNER, _SETTLED),
    )
    return tuple(
        Note(id=f"demo-note-{number}", trial_id=trial_id, about=about, at=at, by=by, words=words)
        for number, (about, at, by, words) in enumerate(told, start=1)
    )


def demo_retrace(trial_id: str, *, sheet_id: str) -> Retrace:
    """The canvas whose darkest patch is not the darkest, traced to too much ink."""
    return Retrace(
        id="demo-retrace",
        trial_id=trial_id,
        sheet_id=sheet_id,
        title="Withy Canvas: blacks turn cloudy and grey (invented)",
        begun_at=_RETRACED,
        by=BENCH,
        symptoms=(
            MarkedSymptom(symptom="hook", seen="present"),
            MarkedSymptom(symptom="mottle", seen="present"),
            MarkedSymptom(symptom="regular-bands", seen="absent"),
        ),
        answers=(
            AnsweredCheck(
                check="last-five-steps",
                answer="yes",
                at=_RETRACED.replace(minute=40),
                words="Full black is lighter than 90 %.",
            ),
            AnsweredCheck(check="back-puckered", answer="yes", at=_RETRACED.replace(minute=45)),
            AnsweredCheck(
                check="less-ink-cures",
                answer="yes",
                at=_RETRACED.replace(hour=14),
                words="Setting sheet with the plain canvas setting: black is deepest at full ink.",
            ),
        ),
        tried=(
            TriedFix(
                cause="total-ink-too-high",
                at=_RETRACED.replace(hour=14),
                words="Plain canvas setting instead of the one with extra ink.",
                helped=True,
            ),
        ),
        outcome="solved",
        closed_at=_RETRACED.replace(hour=15),
        words="The sheets of this trial stay as they are; the canvas gets a trial of its own with less ink.",
    )
