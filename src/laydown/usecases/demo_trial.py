"""A complete invented trial with known true values, to try everything on before measuring anything."""

from __future__ import annotations

import json
import secrets
import shutil
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.errors import RefusedInput
from laydown.kernel.stated import Stated
from laydown.science.prints import (
    BARYTA,
    BRIGHT_MATTE,
    CANVAS,
    MATTE_COTTON,
    WAVELENGTHS_NM,
    Chart,
    Medium,
    Misreads,
    Noise,
    demonstration_chart,
    misread,
    print_sheet,
    read_sheet,
)
from laydown.science.readings.types import Conditions, Readings
from laydown.science.readings.write_cgats import write_cgats
from laydown.science.readings.write_cxf import write_cxf

DEMO_FOLDER = "Saltmarsh Print Room (invented)"
HOUSE = "Fenland Rag (house)"
_STUDIO = "Saltmarsh Print Room (invented)"
_INSTRUMENT = "bench spectrophotometer (invented)"
_SEED = 20260131
_CONDITIONS = ("M1", "M2")
_AGE_HOURS = 24.0
_FINISH = "uncoated"


@dataclass(frozen=True, slots=True)
class DemoMedium:
    """One medium of the invented trial: what it is, how many sheets, and how its files are written.

    ``mistakes`` maps a sheet number (from 1) to what went wrong while it was read. ``cxf`` writes one CxF3
    file per sheet with both readings in it; all others are CGATS, one file per reading.
    """

    name: str
    note: str
    medium: Medium
    sheets: int = 3
    noise: Noise = field(default_factory=Noise)
    mistakes: Mapping[int, Misreads] = field(default_factory=lambda: MappingProxyType({}))
    percent: bool = False
    decimal_comma: bool = False
    decimals: int = 4
    cxf: bool = False


def demo_media() -> tuple[DemoMedium, ...]:
    """The five invented media, the house medium first; their truth is ``science.prints.reflectance``."""
    return (
        DemoMedium(
            HOUSE,
            "Invented. Natural matte cotton, 310 g, the medium the studio sells now.",
            replace(MATTE_COTTON, name=HOUSE),
            sheets=4,
        ),
        DemoMedium(
            "Tidemill Cotton",
            "Invented. Another matte cotton, made to be the same as the house one in practice. "
            "Its files are CxF3, both readings of a sheet in one.",
            replace(
                MATTE_COTTON,
                name="Tidemill Cotton",
                white=0.9065,
                warmth=0.054,
                surface=0.0131,
                ink_strength=1.004,
            ),
            sheets=4,
            cxf=True,
        ),
        DemoMedium(
            "Gullwing White",
            "Invented. Bright white matte with much brightener. Its files have percent and decimal commas.",
            replace(BRIGHT_MATTE, name="Gullwing White", surface=0.0128),
            percent=True,
            decimal_comma=True,
        ),
        DemoMedium(
            "Samphire Gloss",
            "Invented. A gloss sheet on a mineral base: deep black, large colour range, a little brightener.",
            replace(BARYTA, name="Samphire Gloss"),
            decimals=5,
        ),
        DemoMedium(
            "Withy Canvas",
            "Invented. A canvas printed with too much ink, on sheets that vary; sheet 2 was read carelessly.",
            replace(
                CANVAS, name="Withy Canvas", overdrive=1.25, ink_limit=2.8, capacity=2.8, coalescence=0.4
            ),
            noise=replace(Noise().times(2.0), patch=Noise().patch, reading=Noise().reading),
            mistakes=MappingProxyType({2: Misreads(swapped=((140, 433),), wrong=(301,))}),
        ),
    )


def demo_chart() -> Chart:
    """The chart all sheets of the invented trial carry."""
    return demonstration_chart(rng=np.random.default_rng(_SEED))


def build_demo_trial() -> dict[str, bytes]:
    """Every file of the invented trial, by path relative to its folder.

    Each medium has a folder; each sheet is read under M1 and M2, which make two files, or one that holds
    both. ``trial.json`` names the question, the house medium, and says that all of it is invented. The same
    on every call.

    Returns
    -------
    dict of relative path (with ``/``) to content.

    Notes
    -----
    About 9 MB, more than half of it the XML of one medium, in well under a second and a half.
    """
    chart = demo_chart()
    files: dict[str, bytes] = {"trial.json": _trial_file()}
    for number, demo in enumerate(demo_media()):
        for sheet in range(1, demo.sheets + 1):
            rng = np.random.default_rng([_SEED, number, sheet])
            read = _sheet(demo, chart, sheet=sheet, rng=rng)
            if demo.cxf:
                path = f"{demo.name}/sheet{sheet}.cxf"
                files[path] = write_cxf(
                    read, creator=_STUDIO, description=_about(demo, sheet), decimals=demo.decimals
                )
            else:
                for condition, readings in zip(_CONDITIONS, read, strict=True):
                    path = f"{demo.name}/sheet{sheet}-{condition}.txt"
                    files[path] = _cgats(demo, readings, sheet=sheet)
    return files


def write_demo_trial(folder: Path) -> Path:
    """Write the invented trial so that the folder is there whole or not at all.

    Parameters
    ----------
    folder : Path
        Must not exist yet, or be empty. Its parent must exist.

    Returns
    -------
    The folder.

    Raises
    ------
    RefusedInput
        The folder holds something already, or cannot be written.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise RefusedInput(
            "there is something here already, and nothing is overwritten.",
            todo="Name a folder that does not exist yet.",
            file=str(folder),
        )
    aside = folder.with_name(f".{folder.name}.{secrets.token_hex(4)}.part")
    try:
        for path, content in build_demo_trial().items():
            target = aside / path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
        if folder.exists():
            folder.rmdir()  # empty, as looked at above; some systems do not rename onto a folder
        aside.rename(folder)
    except OSError as error:
        raise RefusedInput(
            f"the invented trial cannot be written ({error.strerror}).",
            todo="Name a folder you may write to.",
            file=str(folder),
        ) from error
    finally:
        shutil.rmtree(aside, ignore_errors=True)
    return folder


def _trial_file() -> bytes:
    """What the studio states about its trial."""
    trial = {
        "title": f"{_STUDIO}: a medium for the 2026 editions",
        "question": "Is any of these four media better than our house cotton for limited editions, "
        "and is the difference real?",
        "house": HOUSE,
        "invented": True,
        "candidates": {demo.name: _stated_about(demo) for demo in demo_media()},
    }
    return (json.dumps(trial, indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def _stated_about(demo: DemoMedium) -> dict[str, str]:
    """The note on a medium, and the finish where its files have no place for it."""
    return {"note": demo.note} | ({"finish": _FINISH} if demo.cxf else {})


def _sheet(demo: DemoMedium, chart: Chart, *, sheet: int, rng: np.random.Generator) -> list[Readings]:
    """One printed sheet, read once under each condition."""
    state = print_sheet(len(chart), noise=demo.noise, rng=rng)
    found = []
    for condition in _CONDITIONS:
        spectra = read_sheet(
            chart.device_rgb,
            medium=demo.medium,
            sheet_state=state,
            noise=demo.noise,
            rng=rng,
            condition=condition,
            across=chart.across,
        )
        if sheet in demo.mistakes:
            spectra = misread(spectra, misreads=demo.mistakes[sheet], rows=chart.positions[:, 0])
        found.append(_readings(chart, spectra, sheet=sheet, condition=condition))
    return found


def _readings(chart: Chart, spectra: Floats, *, sheet: int, condition: str) -> Readings:
    """One reading of one sheet, with the conditions an instrument's program would state."""
    minutes = 5 + 12 * sheet + 6 * _CONDITIONS.index(condition)
    day = 13 + (sheet - 1) % 2  # sheets were printed over two days
    return Readings(
        file="",
        ids=chart.ids,
        names=("",) * len(chart),
        lines=np.zeros(len(chart), dtype=np.int64),
        channels=("R", "G", "B"),
        device=chart.device_rgb,
        device_scale=Stated(255.0, "the chart"),
        wavelengths_nm=WAVELENGTHS_NM,
        reflectance=spectra,
        positions=chart.positions + 1,  # people count from 1
        conditions=Conditions(
            measurement=Stated(condition, "demo"),
            backing=Stated("white", "demo"),
            illuminant=Stated("D50", "demo"),
            observer=Stated("2", "demo"),
            geometry=Stated("45:0", "demo"),
            instrument=Stated(_INSTRUMENT, "demo"),
            date=Stated(f"2026-01-{day}T10:{minutes:02d}:00Z", "demo"),
            finish=Stated(_FINISH, "demo"),
            age_hours=Stated(_AGE_HOURS, "demo"),
        ),
    )


def _about(demo: DemoMedium, sheet: int) -> str:
    return f"{demo.name}, sheet {sheet}: invented readings from a model of prints, no real product"


def _cgats(demo: DemoMedium, readings: Readings, *, sheet: int) -> bytes:
    """One reading of one sheet as a file of the kind an instrument's program exports."""
    preamble = (
        ("ORIGINATOR", _STUDIO),
        ("DESCRIPTOR", _about(demo, sheet)),
        ("MATERIAL", f"{demo.name} (invented)"),
    )
    return write_cgats(
        readings,
        preamble=preamble,
        percent=demo.percent,
        decimals=demo.decimals,
        decimal_comma=demo.decimal_comma,
    )
