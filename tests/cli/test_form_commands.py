"""``laydown form``: drawn, read and scanned as a studio would, without a workbench."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from PIL import Image

from laydown.cli.main import group
from laydown.kernel.errors import BadSetting
from laydown.science.findings.reading_order import any_print
from laydown.science.forms.geometry import from_json
from laydown.science.readings import read_measurements
from laydown.science.readings.target import read_target

DRAW = ["form", "draw", "q7", "--width", "8in", "--length", "250mm", "--patches", "90", "--ppi", "300"]
FEW = ["--part", "edges", "--part", "length marks", "--no-pictures"]


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("form")
    done = CliRunner().invoke(group, [*DRAW, *FEW, "--out", str(folder)], catch_exceptions=False)
    assert done.exit_code == 0
    assert "Gamut volume (how many colours can be printed): within" in done.output
    return folder


def geometry(folder: Path):
    return from_json((folder / "Q7-D1-geometry.json").read_text())


def test_everything_that_goes_with_a_form_is_written(drawn):
    names = {path.name for path in drawn.iterdir()}
    assert names >= {"Q7-D1.tif", "Q7-D1-geometry.json", "Q7-reference.txt", "Q7-read-me.txt"}
    assert "without colour management" in (drawn / "Q7-read-me.txt").read_text()
    listed = read_target((drawn / "Q7-reference.txt").read_bytes(), file="Q7-reference.txt")
    patches = geometry(drawn).patches
    np.testing.assert_allclose(listed.device, [one.device for one in patches], atol=1e-6)


def test_the_same_command_draws_the_same_bytes(drawn, tmp_path):
    CliRunner().invoke(group, [*DRAW, *FEW, "--out", str(tmp_path)], catch_exceptions=False)
    for path in tmp_path.iterdir():
        assert path.read_bytes() == (drawn / path.name).read_bytes(), path.name


def test_a_sheet_read_from_the_other_end_is_recognised_and_mended(drawn, tmp_path):
    page = geometry(drawn)
    device = np.array([one.device for one in page.patches])
    lab = any_print(device, channels=page.channels)
    rows = "\n".join(
        f"{number} {values[0]:.3f} {values[1]:.3f} {values[2]:.3f}"
        for number, values in enumerate(lab[::-1], 1)
    )
    file = tmp_path / "turned.txt"
    file.write_text(
        "CGATS.17\nNUMBER_OF_FIELDS 4\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        f"NUMBER_OF_SETS {len(lab)}\nBEGIN_DATA\n{rows}\nEND_DATA\n"
    )
    mended = tmp_path / "mended.txt"
    done = CliRunner().invoke(
        group,
        ["form", "match", str(file), str(drawn / "Q7-D1-geometry.json"), "--mended", str(mended)],
        catch_exceptions=False,
    )
    assert done.exit_code == 0, done.output
    assert "other end" in done.output or "turned" in done.output
    (table,) = read_measurements(mended.read_bytes(), file="mended.txt").tables
    assert table.ids == tuple(one.name for one in page.patches)
    np.testing.assert_allclose(table.lab, lab, atol=1e-3)
    np.testing.assert_allclose(table.device, device, atol=1e-6)


def test_a_crooked_scan_is_located(drawn, tmp_path):
    with Image.open(drawn / "Q7-D1.tif") as page:
        turned = page.convert("L").rotate(3.0, expand=True, fillcolor=255, resample=Image.Resampling.BICUBIC)
    scan = tmp_path / "scan.png"
    turned.save(scan, dpi=(300, 300))
    told = tmp_path / "found.json"
    done = CliRunner().invoke(
        group,
        ["form", "locate", str(scan), str(drawn / "Q7-D1-geometry.json"), "--json", str(told)],
        catch_exceptions=False,
    )
    assert done.exit_code == 0, done.output
    assert "Form Q7, page D1" in done.output
    found = json.loads(told.read_text())
    assert found["placed"]
    assert found["error_mm"] < 0.1
    for way in ("across", "along"):
        # The scan is the drawing itself: nothing was printed longer or shorter.
        assert abs(found["length_error_percent"][way]["value"]) < 0.02
    edge = next(one for one in found["elements"] if one["kind"] == "edge")
    assert edge["doubt"] == ""


def test_a_blank_scan_and_another_file_say_so(drawn, tmp_path):
    blank = tmp_path / "blank.png"
    Image.new("L", (1200, 1500), 250).save(blank)
    place = str(drawn / "Q7-D1-geometry.json")
    done = CliRunner().invoke(group, ["form", "locate", str(blank), place])
    assert done.exit_code == 1
    assert "Not found: no mark was found" in done.output
    rng = np.random.default_rng(5)
    rows = "\n".join(
        f"{n} {x:.2f} {y:.2f} {z:.2f}" for n, (x, y, z) in enumerate(rng.uniform(5, 95, (90, 3)), 1)
    )
    other = tmp_path / "other.txt"
    other.write_text(
        "CGATS.17\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n"
        f"BEGIN_DATA\n{rows}\nEND_DATA\n"
    )
    done = CliRunner().invoke(group, ["form", "match", str(other), place])
    assert done.exit_code == 1
    assert "not matched" in done.output


def test_what_cannot_be_drawn_is_refused(tmp_path):
    done = CliRunner().invoke(group, ["form", "draw", "Q7", "--patches", "5", "--out", str(tmp_path)])
    assert isinstance(done.exception, BadSetting)
    assert "too few" in str(done.exception)
    assert not list(tmp_path.iterdir())
    done = CliRunner().invoke(group, ["form", "draw", "Q7", "--width", "wide"])
    assert "is no length" in done.output


def test_help_lists_what_a_form_can_do():
    done = CliRunner().invoke(group, ["form", "--help"])
    assert [line.split()[0] for line in done.output.splitlines() if line.startswith("  ")][-4:] == [
        "foretell",
        "draw",
        "match",
        "locate",
    ]


def test_an_area_is_filled_and_says_what_it_would_tell():
    done = CliRunner().invoke(
        group,
        ["form", "foretell", "--width", "200mm", "--height", "120", "--patch-size", "8"],
        catch_exceptions=False,
    )
    assert done.exit_code == 0
    assert done.output.splitlines()[0].endswith("repeats spread over the page.")
    assert "Gamut volume (how many colours can be printed): within" in done.output
    assert "not a measurement" in done.output
    small = CliRunner().invoke(
        group, ["form", "foretell", "--width", "60", "--height", "60", "--reader", "spot"]
    )
    assert "too few" in str(small.exception)
