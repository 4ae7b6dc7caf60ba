"""Set how a candidate is to be printed, and keep its profile file with it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from laydown.kernel.errors import BadSetting, RefusedInput
from laydown.records.ledger import Records
from laydown.records.work import Work
from laydown.science.readings.icc_tags import is_icc
from laydown.trials.recipe import Recipe
from laydown.trials.recipes import SHOWN_OF_CHECKSUM, recipe_differences
from laydown.trials.remarks import Attachment
from laydown.trials.trial import Candidate
from laydown.usecases.acted import Acted
from laydown.usecases.bench.open_trial import open_trial

PROFILE_TYPE = "application/vnd.iccprofile"
LARGEST_PROFILE = 64 * 2**20


@dataclass(frozen=True, slots=True)
class ProfileFile:
    """A profile as it was handed in."""

    name: str
    content: bytes


def set_recipe(
    records: Records,
    candidate_id: str,
    recipe: Recipe,
    *,
    profile: ProfileFile | None = None,
    source: str = "",
    who: str,
    seen: int | None = None,
) -> Acted[Candidate]:
    """Keep the recipe a candidate is to be printed with; ``source`` says where it was taken over from.

    A profile handed in is kept; its checksum goes into the recipe, and its name too where none was typed.
    Runs already printed keep the settings that were really set.

    Raises
    ------
    BadSetting
        A checksum is none, or the profile is no profile.
    RefusedInput
        Nothing differs from the recipe as it is.
    ChangedMeanwhile
        Somebody else altered the candidate after the revision ``seen``.
    """
    _refuse_checksums(recipe)
    if profile is not None:
        _refuse_no_profile(profile)
    with records.work("set", who=who) as work:
        candidate = work.get(Candidate, candidate_id)
        open_trial(work, candidate.trial_id)
        wanted = _with_profile(work, recipe, profile)
        differences = recipe_differences(candidate.recipe, wanted)
        if not differences:
            raise RefusedInput("nothing differs from the recipe as it is.", todo="Nothing was changed.")
        _attach(work, candidate, wanted, profile, records.new_id(), who)
        work.say(
            f"the recipe of {candidate.name}{f' as {source}' if source else ''}: "
            + ", ".join(one.label for one in differences)
        )
        return Acted(work.change(replace(candidate, recipe=wanted), seen=seen), work.entry_id)


def _with_profile(work: Work, recipe: Recipe, profile: ProfileFile | None) -> Recipe:
    if profile is None:
        return recipe
    return replace(
        recipe,
        profile_sha256=work.keep_file(profile.content),
        profile_name=recipe.profile_name or profile.name,
    )


def _attach(
    work: Work, candidate: Candidate, recipe: Recipe, profile: ProfileFile | None, new_id: str, who: str
) -> None:
    """Note the profile's file with the candidate, once; one that is kept with another is taken along."""
    sha256 = recipe.profile_sha256
    if not sha256 or work.find(Attachment, about=candidate.id, kind="profile", sha256=sha256):
        return
    kept = next(iter(work.find(Attachment, kind="profile", sha256=sha256, limit=1)), None)
    if profile is not None:
        name, size = profile.name, len(profile.content)
    elif kept is not None:
        name, size = kept.name, kept.size
    else:
        return
    work.add(
        Attachment(
            id=new_id,
            trial_id=candidate.trial_id,
            about=candidate.id,
            kind="profile",
            name=name,
            media_type=PROFILE_TYPE,
            size=size,
            sha256=sha256,
            at=work.now,
            by=who,
            words=f"checksum {sha256[:SHOWN_OF_CHECKSUM]}",
        )
    )


def _refuse_checksums(recipe: Recipe) -> None:
    for sha256, what in ((recipe.profile_sha256, "the profile"), (recipe.file_sha256, "the file")):
        if sha256 and not re.fullmatch(r"[0-9a-f]{64}", sha256):
            raise BadSetting(
                f"the checksum of {what} is no SHA-256.",
                todo="It has 64 signs, 0 to 9 and a to f. Hand in the file instead and it is worked out.",
            )


def _refuse_no_profile(profile: ProfileFile) -> None:
    content = profile.content
    if len(content) > LARGEST_PROFILE:
        raise BadSetting(
            f"it is larger than {LARGEST_PROFILE // 2**20} MB.", todo="Choose the profile.", file=profile.name
        )
    if not is_icc(content):
        raise BadSetting(
            "this is no ICC profile.",
            todo="Choose the .icc or .icm file of the output profile.",
            file=profile.name,
        )
