"""Flats, ramps, steps, waves, colours against each other: exact device values in the boxes of the facts."""

import numpy as np
import pytest
from drawn_elements import CMYK, RGB, drawn, inside

from laydown.kernel.errors import BadSetting
from laydown.science.forms.bleed_targets import bleed_targets
from laydown.science.forms.device_colours import bare, pure
from laydown.science.forms.gradients import Gradient, gradient, usual_gradients
from laydown.science.forms.tints import SHARES, SIDE_MM, tint
from laydown.science.forms.tone_steps import tone_steps
from laydown.science.forms.wave_target import finest_wave, wave_target

AT = {"left_mm": 2.0, "top_mm": 2.0}


def boxes(values):
    return np.array(values).reshape(-1, 4)


@pytest.mark.parametrize("channels", [RGB, CMYK])
@pytest.mark.parametrize("share", SHARES)
def test_every_pixel_of_a_tint_is_its_device_value_and_it_is_60_mm(share, channels):
    element = tint(share, channels=channels, **AT)
    left, top, right, bottom = element.facts["field_mm"]
    assert SIDE_MM.value == 60.0  # the studio's words: at least 60 mm
    assert (right - left, bottom - top) == pytest.approx((60.0, 60.0))
    field = inside(drawn([element], channels=channels, ppi=100), element.facts["field_mm"], 100)
    expected = np.round(255 * (np.full(3, 1.0 - share) if channels == RGB else np.array([0, 0, 0, share])))
    assert (field == expected).all()


def test_a_tint_may_be_of_any_colour_and_as_wide_as_the_page():
    element = tint(0.5, channels=CMYK, name="G", width_mm=300.0, height_mm=25.0, **AT)
    assert element.facts["device"] == (0.5, 0.0, 0.5, 0.0)
    with pytest.raises(BadSetting, match="too small to judge grain"):
        tint(0.5, channels=CMYK, height_mm=10.0, **AT)
    with pytest.raises(BadSetting, match="no share"):
        tint(0.0, channels=CMYK, **AT)


@pytest.mark.parametrize("end", ["shadows", "highlights"])
@pytest.mark.parametrize("ppi", [300, 720])
def test_steps_hold_their_codes_and_touch_the_reference(end, ppi):
    element = tone_steps(end, channels=RGB, step_mm=5.0, high_mm=6.0, **AT)
    pixels = drawn([element], channels=RGB, ppi=ppi)
    codes = element.facts["codes"]
    # The studio's words: shadow steps 0 to 30 in twos, highlight steps 225 to 255 in ones.
    assert codes == (tuple(range(0, 31, 2)) if end == "shadows" else tuple(range(225, 256)))
    reference = 0 if end == "shadows" else 255
    for code, (left, top, right, bottom) in zip(codes, boxes(element.facts["steps_mm"]), strict=True):
        assert (inside(pixels, (left, top, right, bottom), ppi) == code).all()
        above = inside(pixels, (left, top - 1.0, right, top), ppi)
        assert (above == reference).all()


def test_steps_in_ink_and_in_twos():
    element = tone_steps("highlights", channels=CMYK, every=2, step_mm=5.0, high_mm=6.0, **AT)
    assert element.facts["codes"] == tuple(range(225, 256, 2))
    pixels = drawn([element], channels=CMYK, ppi=300)
    first = inside(pixels, boxes(element.facts["steps_mm"])[0], 300)
    assert (first == (0, 0, 0, 30)).all()
    with pytest.raises(BadSetting, match="not fine steps"):
        tone_steps("shadows", channels=RGB, every=40, **AT)


@pytest.mark.parametrize("channels", [RGB, CMYK])
def test_gradients_run_straight_from_their_start_to_their_end(channels):
    for each in usual_gradients(channels):
        element = gradient(each, channels=channels, length_mm=40.0, breadth_mm=3.0, **AT)
        field = (
            inside(drawn([element], channels=channels, ppi=300, bits=16), element.facts["field_mm"], 300)
            / 65535
        )
        way = (np.arange(field.shape[1]) + 0.5) / field.shape[1]
        start, end = np.array(element.facts["start"]), np.array(element.facts["end"])
        assert field[0] == pytest.approx(start + way[:, None] * (end - start), abs=1e-5)
        assert (field == field[:1]).all()


def test_the_gradients_that_are_wanted_are_there():
    names = {each.name for each in usual_gradients(RGB)}
    wanted = {"neutral", "deep blue to black", "pale to deep sky"}
    wanted |= {f"bare to {name}" for name in "RGBCMY"} | {f"{name} to grey" for name in "RGBCMY"}
    assert wanted <= names
    assert wanted | {"equal C, M, Y"} <= {each.name for each in usual_gradients(CMYK)}
    assert [each.name for each in usual_gradients(("K",))] == ["neutral"]
    for each in usual_gradients(CMYK):
        assert max(sum(each.start), sum(each.end)) <= 3.0  # equal C, M, Y is the wettest
        if each.name != "equal C, M, Y":
            assert max(sum(each.start), sum(each.end)) <= 2.2 + 1e-9


def test_a_gradient_may_run_down():
    ramp = Gradient("neutral", (1.0, 1.0, 1.0), (0.0, 0.0, 0.0))
    element = gradient(ramp, channels=RGB, along="down", length_mm=40.0, breadth_mm=3.0, **AT)
    field = inside(drawn([element], channels=RGB, ppi=300), element.facts["field_mm"], 300)
    assert field.shape[0] > field.shape[1]
    assert (np.diff(field[:, 0, 0].astype(int)) <= 0).all()
    assert field[0, 0, 0] == 255
    assert field[-1, 0, 0] == 0


@pytest.mark.parametrize("channels", [RGB, CMYK])
def test_bars_combs_and_fields_hold_their_colours(channels):
    elements = bleed_targets(channels=channels, **AT)
    pixels = drawn(elements, channels=channels, ppi=600)
    cells = [one for one in elements if one.kind == "bleed"]
    assert len(cells) == 8 * 7
    assert len({one.name for one in cells}) == len(cells)
    for cell in cells:
        facts = cell.facts
        colour = {
            name: np.round(255 * np.array(bare(channels) if name == "bare" else pure(name, channels)))
            for name in (facts["field"], facts["bar"])
        }
        bar, field = colour[facts["bar"]], colour[facts["field"]]
        assert (bar != field).any()
        assert (inside(pixels, facts["bar_mm"], 600, shrunk_px=2) == bar).all()
        left, top, right, _ = facts["field_mm"]
        assert (inside(pixels, (left, top, right, top + 0.9), 600, shrunk_px=1) == field).all()
        for comb, along in (("comb_mm", 0), ("level_comb_mm", 1)):
            part = inside(pixels, facts[comb], 600, shrunk_px=0).astype(float)
            channel = int(np.argmax(np.abs(bar - field)))
            share = (part[..., channel].mean() - field[channel]) / (bar[channel] - field[channel])
            # Half of it is teeth; borders of the box fall within pixels, at most one in 70.
            assert share == pytest.approx(0.5, abs=0.02)
            line = (
                part[part.shape[0] // 2, :, channel] if along == 0 else part[:, part.shape[1] // 2, channel]
            )
            middle = (bar[channel] + field[channel]) / 2.0
            risen = np.abs(np.diff(np.sign(line - middle))) > 1
            assert risen.sum() == 2 * facts["teeth"] - 1


@pytest.mark.parametrize("along", ["across", "down"])
def test_waves_are_as_fine_and_as_faint_as_the_facts_say(along):
    ppi = 300.0
    element = wave_target(channels=RGB, along=along, width_mm=60.0, height_mm=60.0, **AT)
    field = (
        inside(drawn([element], channels=RGB, ppi=ppi, bits=16), element.facts["field_mm"], ppi)[..., 0]
        / 65535.0
    )
    field = field if along == "across" else field.T
    facts = element.facts
    for share in (0.2, 0.5, 0.8):
        # Fineness: crossings of the middle near a place on the side of full contrast.
        at, reach = round(share * field.shape[1]), round(3.0 * ppi / 25.4)
        line = field[0, at - reach : at + reach] - 0.5
        low, high = np.flatnonzero(np.diff(np.sign(line)))[[0, -1]]
        halves = len(np.flatnonzero(np.diff(np.sign(line)))) - 1
        found = halves / 2.0 / ((high - low) / ppi * 25.4)
        wanted = facts["coarse"] * (facts["fine"] / facts["coarse"]) ** share
        # Over 6 mm of 60 the fineness itself grows by a third; the mean of that is near its middle.
        assert found == pytest.approx(wanted, rel=0.06)
        # Contrast: half the range along a line at a share of the way across.
        row = field[round(share * field.shape[0]), : field.shape[1] // 2]
        assert np.ptp(row) == pytest.approx(facts["faintest"] ** share, rel=0.03)


@pytest.mark.parametrize("ppi", [300.0, 360.0, 720.0])
def test_the_finest_wave_keeps_its_contrast(ppi):
    element = wave_target(
        channels=RGB, width_mm=60.0, height_mm=20.0, fine=finest_wave(ppi), faintest=0.5, **AT
    )
    field = inside(drawn([element], channels=RGB, ppi=ppi), element.facts["field_mm"], ppi)[0, :, 0]
    pieces = field[: len(field) // 20 * 20].reshape(20, -1)
    # Sampled 2.35 times a wave at least: in any piece pixels come near a crest and near a trough.
    assert (np.ptp(pieces.astype(int), axis=1) > 0.95 * 255).all()


def test_waves_that_do_not_grow_finer_are_refused():
    for wrong in ({"coarse": 5.0, "fine": 1.0}, {"faintest": 1.0}, {"coarse": 0.0}):
        with pytest.raises(BadSetting, match="from coarse to fine"):
            wave_target(channels=RGB, **wrong, **AT)
