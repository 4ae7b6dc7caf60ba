"""The findings about spread."""

from __future__ import annotations

from laydown.science.findings.metric import Metric, practice

_DISTANCES = (
    Metric(
        "repeat_mcdm",
        "Repeats on a sheet (MCDM)",
        "spread",
        "dE00",
        3,
        "mean dE00 of patches of one device colour from their mean, over all repeated colours",
        "ASTM E2214 (MCDM), with dE00",
        preference="lower",
        margin=practice(0.15, "dE00"),
        resolution=0.02,
        needs_same_chart=True,
        at_least=0.0,
    ),
    Metric(
        "repeat_p95",
        "Repeats 95th percentile",
        "spread",
        "dE00",
        3,
        "95th percentile of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        margin=practice(0.3, "dE00"),
        resolution=0.02,
        needs_same_chart=True,
        judged=False,
        at_least=0.0,
    ),
    Metric(
        "repeat_max",
        "Repeats largest",
        "spread",
        "dE00",
        3,
        "largest of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        margin=practice(0.5, "dE00"),
        resolution=0.02,
        needs_same_chart=True,
        judged=False,
        at_least=0.0,
    ),
    Metric(
        "sheet_spread",
        "Sheet to sheet",
        "spread",
        "dE00",
        3,
        "mean over sheets and colours of dE00 from the medium's mean of that colour",
        "ASTM E2214 (MCDM over sheets), with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
    ),
    Metric(
        "sheet_spread_p95",
        "Sheet to sheet 95th percentile",
        "spread",
        "dE00",
        3,
        "95th percentile of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
    ),
    Metric(
        "sheet_spread_max",
        "Sheet to sheet largest",
        "spread",
        "dE00",
        3,
        "largest of the same distances",
        "ASTM E2214, with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
    ),
    Metric(
        "reading_spread",
        "Reading to reading",
        "spread",
        "dE00",
        3,
        "mean dE00 of repeated readings of one sheet from their mean",
        "ASTM E2214 (MCDM), with dE00",
        preference="lower",
        judged=False,
        needs_same_chart=True,
        at_least=0.0,
    ),
)

_COMPONENTS = tuple(
    Metric(
        f"component_{name}",
        f"Component: {label}",
        "spread",
        "dE76",
        3,
        f"standard deviation in Lab due to {cause}, from repeated colours (nested analysis of variance)",
        "variance components, method of moments",
        preference="lower",
        judged=False,
        needs_same_chart=True,
        at_least=0.0,
    )
    for name, label, cause in (
        ("sheet", "sheets", "the sheet"),
        ("place", "places on a sheet", "the place on a sheet"),
        ("reading", "readings", "reading again"),
    )
)

SPREAD_METRICS = (*_DISTANCES, *_COMPONENTS)
