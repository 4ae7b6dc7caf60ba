"""Readers: sizes asked for, and patches too small for what the instrument sees at once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from laydown.kernel.errors import BadSetting
from laydown.science.forms.reader import APERTURE_ROOM, SPOT_READER, STRIP_READER, check_reader, usual_reader


@pytest.mark.parametrize("kind", ["spot", "strip", "scanner"])
def test_a_reader_of_a_kind_with_patches_of_a_size(kind):
    usual, asked = usual_reader(kind), usual_reader(kind, patch_mm=12.0)
    assert usual.kind == asked.kind == kind
    assert (asked.patch_width_mm, asked.patch_height_mm) == (12.0, 12.0)
    between = usual.pitch_mm - usual.patch_height_mm
    assert asked.pitch_mm - asked.patch_height_mm == pytest.approx(between)


def test_a_patch_smaller_than_what_the_instrument_sees_is_refused():
    needed = SPOT_READER.aperture_mm + 2.0 * APERTURE_ROOM.value
    assert usual_reader("spot", patch_mm=needed).patch_width_mm == needed
    with pytest.raises(BadSetting, match=r"4 x 4 mm is too small: .* sees 4.5 mm .* at least 5.5 mm"):
        usual_reader("strip", patch_mm=4.0)
    with pytest.raises(BadSetting, match="too small"):
        check_reader(replace(STRIP_READER, patch_height_mm=needed - 0.1, row_pitch_mm=11.0))
    # Where nobody knows the aperture nothing can be said.
    check_reader(replace(SPOT_READER, aperture_mm=0.0, patch_width_mm=2.0))


def test_an_unknown_kind_is_refused():
    with pytest.raises(BadSetting, match='no reader "drum"'):
        usual_reader("drum")
