"""A candidate's recipe is kept with its profile, and says what it changes."""

from __future__ import annotations

import hashlib

import pytest

from laydown.kernel.errors import BadSetting, ChangedMeanwhile, RefusedInput
from laydown.trials.recipe import Recipe
from laydown.trials.remarks import Attachment
from laydown.trials.trial import Candidate
from laydown.usecases.trial.set_recipe import ProfileFile, set_recipe
from laydown.usecases.undo import undo
from stocked_room import Room

# A header of 128 bytes with the signature of a profile at byte 36 (ICC.1, from memory), and a body.
PROFILE = ProfileFile("rag.icc", bytes(36) + b"acsp" + bytes(88) + b"curves")


def test_a_profile_is_kept_with_its_checksum_and_named(any_room: Room) -> None:
    candidate = any_room.candidate("fenland")
    act = set_recipe(
        any_room.records, candidate.id, Recipe(media_setting="Rag, heavy"), profile=PROFILE, who="Ada"
    )
    sha256 = hashlib.sha256(PROFILE.content).hexdigest()
    assert act.thing.recipe == Recipe(
        media_setting="Rag, heavy", profile_name="rag.icc", profile_sha256=sha256
    )
    with any_room.records.look() as look:
        (attached,) = look.find(Attachment, about=candidate.id)
        assert look.read_file(attached.sha256) == PROFILE.content
        words = look.entry(act.entry_id).words
    assert (attached.kind, attached.name) == ("profile", "rag.icc")
    assert words == "the recipe of Fenland: media setting, profile, checksum of the profile"


def test_the_same_profile_is_attached_once(room: Room) -> None:
    candidate = room.candidate("fenland")
    set_recipe(room.records, candidate.id, Recipe(), profile=PROFILE, who="Ada")
    set_recipe(room.records, candidate.id, Recipe(quality="high"), profile=PROFILE, who="Ada")
    with room.records.look() as look:
        assert look.count(Attachment, about=candidate.id) == 1


def test_a_profile_that_is_taken_over_is_kept_with_both(room: Room) -> None:
    first, second = room.candidate("fenland"), room.candidate("tidemill")
    recipe = set_recipe(room.records, first.id, Recipe(), profile=PROFILE, who="Ada").thing.recipe
    set_recipe(room.records, second.id, recipe, source="planned for Fenland", who="Ada")
    with room.records.look() as look:
        (attached,) = look.find(Attachment, about=second.id)
    assert (attached.name, attached.sha256) == ("rag.icc", recipe.profile_sha256)


def test_a_checksum_of_a_file_that_is_not_kept_is_only_noted(room: Room) -> None:
    candidate = room.candidate("fenland")
    set_recipe(room.records, candidate.id, Recipe(profile_sha256="a" * 64), who="Ada")
    with room.records.look() as look:
        assert look.count(Attachment) == 0


def test_setting_a_recipe_is_undone_with_its_attachment(room: Room) -> None:
    candidate = room.candidate("fenland")
    act = set_recipe(room.records, candidate.id, Recipe(), profile=PROFILE, who="Ada")
    undo(room.records, act.entry_id, who="Ada")
    with room.records.look() as look:
        assert look.get(Candidate, candidate.id) == candidate
        assert look.count(Attachment) == 0


def test_where_it_was_taken_over_from_stands_in_the_journal(room: Room) -> None:
    candidate = room.candidate("fenland")
    act = set_recipe(
        room.records, candidate.id, Recipe(quality="high"), source="on sheet K7 of “Spring”", who="Ada"
    )
    with room.records.look() as look:
        assert look.entry(act.entry_id).words == "the recipe of Fenland as on sheet K7 of “Spring”: quality"


def test_what_is_no_profile_and_no_checksum_is_refused(room: Room) -> None:
    candidate = room.candidate("fenland")
    with pytest.raises(BadSetting, match=r"photo\.jpg: this is no ICC profile"):
        set_recipe(
            room.records, candidate.id, Recipe(), profile=ProfileFile("photo.jpg", bytes(500)), who="Ada"
        )
    with pytest.raises(BadSetting, match="checksum of the file"):
        set_recipe(room.records, candidate.id, Recipe(file_sha256="abc"), who="Ada")


def test_nothing_new_is_not_written_and_two_tablets_do_not_overwrite_each_other(room: Room) -> None:
    candidate = room.candidate("fenland")
    with pytest.raises(RefusedInput, match="nothing differs"):
        set_recipe(room.records, candidate.id, candidate.recipe, who="Ada")
    with room.records.look() as look:
        seen = look.revision(Candidate, candidate.id)
    set_recipe(room.records, candidate.id, Recipe(quality="high"), who="Bo", seen=seen)
    with pytest.raises(ChangedMeanwhile):
        set_recipe(room.records, candidate.id, Recipe(quality="low"), who="Ada", seen=seen)
