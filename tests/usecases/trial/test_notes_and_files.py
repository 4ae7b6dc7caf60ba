"""Notes and files about anything: kept whole, shown only where they can do no harm, private where told."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator

import pytest

from laydown.kernel.constants import Constant
from laydown.kernel.errors import BadSetting, TooLarge, UnknownRecord
from laydown.records.ledger import Records
from laydown.trials.remarks import Attachment, Note
from laydown.trials.stock import Supplier
from laydown.usecases.stock.book_in import book_in
from laydown.usecases.trial import attach_file as attaching
from laydown.usecases.trial.attach_file import (
    ArrivingAttachment,
    attach_file,
    attach_files,
    media_type_of,
    plain_name,
    remove_attachment,
)
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.keep_note import LONGEST_NOTE, keep_note, remove_note
from laydown.usecases.undo import undo

WHO = "Ada"
PNG = b"\x89PNG\r\n\x1a\n" + bytes(100)


def test_a_note_knows_its_trial_and_is_taken_away_and_brought_back(any_records: Records) -> None:
    trial = begin_trial(any_records, "Spring", who=WHO).thing
    act = keep_note(any_records, trial.id, "  Curled at the edge.\nFlattened it. ", who=WHO)
    assert (act.thing.trial_id, act.thing.words, act.thing.by) == (
        trial.id, "Curled at the edge.\nFlattened it.", WHO,
    )  # fmt: skip
    gone = remove_note(any_records, act.thing.id, who=WHO)
    with any_records.look() as look:
        assert look.find(Note) == ()
        assert look.entries(trial_id=trial.id, limit=1)[0].words == (
            "the note “Curled at the edge. Flattened it.”"
        )
    undo(any_records, gone.entry_id, who=WHO)
    with any_records.look() as look:
        assert look.find(Note) == (act.thing,)


def test_what_is_in_no_trial_has_notes_too(records: Records) -> None:
    supplier = book_in(records, Supplier(id="", name="Creek"), who=WHO).thing
    assert keep_note(records, supplier.id, "Ask for Ines.", who=WHO).thing.trial_id is None


@pytest.mark.parametrize("words", [" \n ", "x" * (LONGEST_NOTE + 1)])
def test_no_words_or_too_many_are_refused(records: Records, words: str) -> None:
    trial = begin_trial(records, "Spring", who=WHO).thing
    with pytest.raises(BadSetting, match="note is"):
        keep_note(records, trial.id, words, who=WHO)


def test_nothing_is_said_about_nothing(records: Records) -> None:
    with pytest.raises(UnknownRecord, match="not there"):
        keep_note(records, "gone", "Words.", who=WHO)
    with pytest.raises(UnknownRecord):
        attach_file(records, [PNG], about="gone", name="a.png", who=WHO)
    assert list(records.vault.all()) == []


def test_files_come_in_pieces_and_are_kept_whole(any_records: Records) -> None:
    trial = begin_trial(any_records, "Spring", who=WHO).thing
    pieces = (PNG[:3], PNG[3:50], PNG[50:])
    act = attach_file(
        any_records, pieces, about=trial.id, name="C:\\photos\\wedge.png", kind="photograph", words=" Dark. ",
        private=True, who=WHO,
    )  # fmt: skip
    kept = act.thing
    assert kept.sha256 == hashlib.sha256(PNG).hexdigest()
    assert (kept.name, kept.size, kept.media_type, kept.private, kept.words) == (
        "wedge.png", len(PNG), "image/png", True, "Dark.",
    )  # fmt: skip
    with any_records.look() as look:
        assert look.read_file(kept.sha256) == PNG
        assert look.entry(act.entry_id).words == "the private photograph “wedge.png”"
    gone = remove_attachment(any_records, kept.id, who=WHO)
    undo(any_records, gone.entry_id, who=WHO)
    with any_records.look() as look:
        assert look.get(Attachment, kept.id) == kept


def test_several_files_are_kept_all_or_none(records: Records, monkeypatch: pytest.MonkeyPatch) -> None:
    trial = begin_trial(records, "Spring", who=WHO).thing
    monkeypatch.setattr(attaching, "LARGEST_ATTACHMENT", Constant(1000.0, "byte", "the test", "computed"))
    good = ArrivingAttachment("a.png", [PNG])
    for bad, why in (
        (ArrivingAttachment("big.png", [PNG] * 20), "larger than the 1000 bytes"),
        (ArrivingAttachment("empty.png", [b"", b""]), "the file is empty"),
    ):
        with pytest.raises((TooLarge, BadSetting), match=why) as refused:
            attach_files(records, [good, bad], about=trial.id, who=WHO)
        assert bad.name in str(refused.value)
    with pytest.raises(BadSetting, match="no file was chosen"):
        attach_files(records, [], about=trial.id, who=WHO)
    with records.look() as look:
        assert look.find(Attachment) == ()
    act = attach_files(records, [good, ArrivingAttachment("b.png", [PNG, b"!"])], about=trial.id, who=WHO)
    assert len(act.thing) == 2
    undo(records, act.entry_id, who=WHO)
    with records.look() as look:
        assert look.find(Attachment) == ()


def test_a_file_that_breaks_off_is_not_kept(records: Records) -> None:
    trial = begin_trial(records, "Spring", who=WHO).thing

    def pieces() -> Iterator[bytes]:
        yield PNG
        raise ConnectionError

    with pytest.raises(ConnectionError):
        attach_file(records, pieces(), about=trial.id, name="a.png", who=WHO)
    with records.look() as look:
        assert look.find(Attachment) == ()
    assert list(records.vault.all()) == []


@pytest.mark.parametrize(
    ("head", "told"),
    [
        (b"\x89PNG\r\n\x1a\n0000", "image/png"),  # PNG (ISO/IEC 15948), section 5.2: the eight bytes
        (b"\xff\xd8\xff\xe0", "image/jpeg"),  # start of image and a marker, ITU-T T.81, table B.1
        (b"GIF89a", "image/gif"),  # GIF89a specification, header block
        (b"RIFF\x10\x00\x00\x00WEBPVP8 ", "image/webp"),  # RFC 9649, section 2.4
        (b"%PDF-1.7", "application/pdf"),  # ISO 32000-1, 7.5.2
        (b"<svg xmlns=", "application/octet-stream"),
        (b"<!doctype html>", "application/octet-stream"),
        (b"RIFF\x10\x00\x00\x00WAVEfmt ", "application/octet-stream"),
        (b"", "application/octet-stream"),
    ],
)
def test_files_are_what_their_first_bytes_say(head: bytes, told: str) -> None:
    assert media_type_of(head) == told


@pytest.mark.parametrize(
    ("name", "plain"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\a\\b.jpg", "b.jpg"),
        ("two\nlines\x07.png", "twolines.png"),
        ("", "a file without a name"),
        ("/", "a file without a name"),
        ("x" * 300 + ".jpeg", "x" * 155 + ".jpeg"),
        ("x" * 300, "x" * 160),
    ],
)
def test_names_are_plain(name: str, plain: str) -> None:
    assert plain_name(name) == plain
