"""A studio's own numbers about faults: the file faults.json attached to the studio, and what comes of it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

from laydown.kernel.errors import LaydownError, RefusedInput
from laydown.records.ledger import Records
from laydown.records.look import Look
from laydown.records.trial_facts import STUDIO_ID
from laydown.science.faults import FORMAT, FaultModel, packaged_faults, parse_faults, with_overrides
from laydown.science.faults.packaged import PARTS
from laydown.trials.remarks import Attachment
from laydown.usecases.acted import Acted

OWN_FILE = "faults.json"
_FORMAT_AND_WORDS = ("format", "about", "numbers_from")


@dataclass(frozen=True, slots=True)
class FaultsInUse:
    """What causes are ranked by: the packaged model, with the studio's ``own`` file over it if there is one.

    ``trouble`` says why a file that is there could not be used; the packaged numbers stand in then.
    """

    model: FaultModel
    own: Attachment | None = None
    trouble: str = ""


def faults_in_use(look: Look) -> FaultsInUse:
    """The model causes are ranked by."""
    own = own_file(look)
    if own is None:
        return FaultsInUse(packaged_faults())
    try:
        return FaultsInUse(_laid_over(look.read_file(own.sha256)), own)
    except LaydownError as error:
        return FaultsInUse(packaged_faults(), own, str(error))


def own_file(look: Look) -> Attachment | None:
    """The newest faults.json attached to the studio."""
    found = look.find(Attachment, about=STUDIO_ID, kind="other", name=OWN_FILE, order=("-at", "-id"), limit=1)
    return found[0] if found else None


def keep_own_faults(records: Records, content: bytes, *, who: str) -> Acted[Attachment]:
    """Keep a studio's own numbers in place of those it had before.

    Raises
    ------
    BadSetting
        The file says something that makes no sense; file and entry are named, and nothing is kept.
    TooLarge
        It is far larger than any such file.
    """
    model = _laid_over(content)
    with records.work("took in", who=who) as work:
        for old in work.find(Attachment, about=STUDIO_ID, kind="other", name=OWN_FILE):
            work.remove(Attachment, old.id)
        count = len(model.own)
        work.say(f"the studio's own numbers about faults: {count} of its own")
        kept = Attachment(
            id=records.new_id(),
            trial_id=None,
            about=STUDIO_ID,
            kind="other",
            name=OWN_FILE,
            media_type="application/json",
            size=len(content),
            sha256=work.keep_file(content),
            at=work.now,
            by=who,
            words="Our own numbers about faults.",
        )
        return Acted(work.add(kept), work.entry_id)


def drop_own_faults(records: Records, *, who: str) -> Acted[Attachment]:
    """Go back to the numbers that come with Laydown.

    Raises
    ------
    RefusedInput
        There is no such file.
    """
    with records.work(
        "went back to", who=who, words="the numbers about faults that come with Laydown"
    ) as work:
        own = own_file(work)
        if own is None:
            raise RefusedInput("there is no file of your own numbers.", todo="Nothing needs to be done.")
        for old in work.find(Attachment, about=STUDIO_ID, kind="other", name=OWN_FILE):
            work.remove(Attachment, old.id)
        return Acted(own, work.entry_id)


def packaged_file() -> bytes:
    """Everything that comes with Laydown as one file of the same form, to start one's own from."""
    whole: dict[str, Any] = {
        "format": FORMAT,
        "about": "Everything that comes with Laydown. Keep what you want to change, delete the rest.",
    }
    folder = files("laydown.science.faults").joinpath("data")
    for name in PARTS:
        part = json.loads(folder.joinpath(name).read_bytes())
        whole |= {key: value for key, value in part.items() if key not in _FORMAT_AND_WORDS}
    return json.dumps(whole, ensure_ascii=False, indent=1).encode()


@lru_cache(maxsize=2)
def _laid_over(content: bytes) -> FaultModel:
    return with_overrides(packaged_faults(), parse_faults(content, file=OWN_FILE))
