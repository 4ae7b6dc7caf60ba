"""Keep readings that were typed in, as a file like any other."""

from __future__ import annotations

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.usecases.acted import Acted
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.typed_patches import Typed, doubtful, refuse_impossible, typed_file


def type_reading(
    records: Records, sheet_id: str, typed: Typed, *, who: str, confirmed: bool = False
) -> Acted[Reading]:
    """Keep what was read off an instrument's display as a reading of a sheet.

    Raises
    ------
    BadSetting
        Something typed cannot be; or looks mistyped and is not ``confirmed``.
    RefusedInput
        The sheet is not printed yet, or exactly this was typed before.
    """
    refuse_impossible(typed)
    doubts = doubtful(typed)
    if doubts and not confirmed:
        raise BadSetting(
            f"please look again. {' '.join(doubts)}",
            todo="Correct it, or say that it is typed as it was read.",
        )
    with records.look() as look:
        sheet = look.get(Sheet, sheet_id)
        if not look.find(SheetEvent, sheet_id=sheet_id, kind="printed"):
            raise RefusedInput(
                f"sheet {sheet.code} is not printed yet.",
                todo="Note when it was printed, or choose another.",
            )
    file = HandedIn(f"{sheet.code} typed in.txt", typed_file(typed, code=sheet.code))
    taken = attach_readings(
        records,
        sheet.trial_id,
        [file],
        who=who,
        source="typed in",
        sheet_id=sheet.id,
        measured_at=typed.measured_at,
    )
    if not taken.thing.readings:
        raise RefusedInput(taken.thing.not_taken[0].why)
    return Acted(taken.thing.readings[0], taken.entry_id)
