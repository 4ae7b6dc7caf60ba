"""Measuring conditions: found where stated, with the place, and never guessed."""

from __future__ import annotations

import pytest

from laydown.science.readings.conditions import Statement, find_conditions
from laydown.science.readings.dates import iso_date


def conditions(*pairs):
    lines = [Statement(keyword, value, number) for number, (keyword, value) in enumerate(pairs, start=2)]
    return find_conditions(lines, file="a.txt")


def one(keyword, value, name):
    found, problems = conditions((keyword, value))
    assert problems == []
    return getattr(found, name).value


@pytest.mark.parametrize(
    ("keyword", "value", "expected"),
    [
        ("MEASUREMENT_SOURCE", "MeasurementCondition=M0\tFilter=no", "M0"),
        ("MEASUREMENT_SOURCE", "MeasurementCondition=M2\tFilter=UVcut", "M2"),
        ("MEASUREMENT_GEOMETRY", "ISO 13655 - Reflection, M1", "M1"),
        (
            "INSTRUMENTATION",
            "D50, 2 degree, geometry 45/0, white backing, according to ISO 13655:2009 M1",
            "M1",
        ),
        ("FILTER", "M1", "M1"),
        ("FILTER", "UVCUT", "M2"),
        ("FILTER", "UV", "M2"),
        ("FILTER", "UV-cut filter", "M2"),
        ("INSTRUMENTATION", "UV excluded", "M2"),
        ("MEASUREMENT_SOURCE", "M2_UVExcluded", "M2"),
        ("INSTRUMENTATION", "polarised", "M3"),
        ("INSTRUMENTATION", "with polarization filter", "M3"),
        ("POLARIZATION", "yes", "M3"),
        ("POLARIZATION", "none", None),
        ("POLARIZATION", "off", None),
        ("INSTRUMENTATION", "no polarisation filter", None),
        ("INSTRUMENTATION", "D50, 2 degree, geometry 45/0, no polarisation filter, white backing", None),
        ("INSTRUMENTATION", "without polarizing filter", None),
        ("INSTRUMENTATION", "unpolarised", None),
        ("INSTRUMENTATION", "no UV filter", None),
        ("INSTRUMENTATION", "UV included", None),
        ("FILTER", "none", None),
        ("FILTER", "no", None),
        ("FILTER", "D50", None),
        ("MEASUREMENT_SOURCE", "A", None),
        ("MEASUREMENT_SOURCE", "GAS-FILLED TUNGSTEN", None),
        ("MATERIAL", "Matte M2 310 g", None),
        ("SERIAL", "M1 0042", None),
        ("INSTRUMENTATION", "model XM1", None),
        ("INSTRUMENTATION", "M12 thread", None),
        ("PRINT_CONDITIONS", "printed over a UV block", None),
    ],
)
def test_measurement_condition(keyword, value, expected):
    assert one(keyword, value, "measurement") == expected


def test_a_uv_filter_beside_a_polariser_is_m3():
    found, problems = conditions(("FILTER", "UVcut"), ("POLARIZATION", "yes"))
    assert (found.measurement.value, problems) == ("M3", [])


def test_contradictions_leave_it_unknown_with_a_warning():
    found, (problem,) = conditions(("FILTER", "M1"), ("MEASUREMENT_SOURCE", "MeasurementCondition=M2"))
    assert found.measurement.value is None
    assert found.measurement.where == "not stated"
    assert problem.severity == "warning"
    assert "M1 (FILTER, line 2); M2 (MEASUREMENT_SOURCE, line 3)" in problem.what


@pytest.mark.parametrize(
    ("keyword", "value", "name", "expected"),
    [
        ("SAMPLE_BACKING", "White", "backing", "white"),
        ("SAMPLE_BACKING", "black", "backing", "black"),
        ("SAMPLE_BACKING", "three sheets", "backing", "three sheets"),
        ("INSTRUMENTATION", "geometry 45/0, white backing", "backing", "white"),
        ("DESCRIPTOR", "black backing, light D50", "backing", "black"),
        ("WEIGHTING_FUNCTION", "ILLUMINANT, D50", "illuminant", "D50"),
        ("WEIGHTING_FUNCTION", "ILLUMINANT,D65", "illuminant", "D65"),
        ("ILLUMINANT", "A", "illuminant", "A"),
        ("MEASUREMENT_SOURCE", "Illumination=D50  ObserverAngle=2 degree", "illuminant", "D50"),
        ("MEASUREMENT_SOURCE", "A", "illuminant", None),
        ("FILTER", "D50", "illuminant", None),
        ("DESCRIPTOR", "L* a* b* data (light D50, viewing angle 2)", "illuminant", "D50"),
        ("DESCRIPTOR", "L* a* b* data (light D50, viewing angle 2)", "observer", "2"),
        ("WEIGHTING_FUNCTION", "OBSERVER, 2 degree", "observer", "2"),
        ("WEIGHTING_FUNCTION", "OBSERVER,10 degree", "observer", "10"),
        ("OBSERVER", "CIE 2 degree", "observer", "2"),
        ("OBSERVER", "10", "observer", "10"),
        ("OBSERVER", "2_Degree", "observer", "2"),
        ("INSTRUMENTATION", "D65, 10°", "observer", "10"),
        ("INSTRUMENTATION", "CIE 1964", "observer", "10"),
        ("INSTRUMENTATION", "geometry 45/0", "observer", None),
        ("INSTRUMENTATION", "strip-reading spectrophotometer, 45:0", "geometry", "45:0"),
        ("MEASUREMENT_GEOMETRY", "0/45", "geometry", "0:45"),
        ("MEASUREMENT_GEOMETRY", "45°/0°", "geometry", "45:0"),
        ("MEASUREMENT_GEOMETRY", "d/8", "geometry", "d:8"),
        ("CREATED", "8/3/2006 Time: 10:45", "geometry", None),
        ("DESCRIPTOR", "read at 10:45:00", "geometry", None),
        (
            "INSTRUMENTATION",
            "strip-reading spectrophotometer, 45:0",
            "instrument",
            "strip-reading spectrophotometer",
        ),
        (
            "INSTRUMENTATION",
            "D50, 2 degree, geometry 45/0, no polarisation filter, white backing",
            "instrument",
            None,
        ),
        ("INSTRUMENTATION", "See ANSI/CGATS TR002", "instrument", None),
        ("DENSITY_STATUS", "T", "density_status", "T"),
        ("MEASUREMENT_SOURCE", "DensityStd=unknown", "density_status", None),
        ("MEASUREMENT_SOURCE", "DensityStandard=ISO status T", "density_status", "T"),
        ("DESCRIPTOR", "density Status E, paper based", "density_status", "E"),
        ("FINISH", "coated", "finish", "coated"),
        ("PRINT_FINISH", "Uncoated", "finish", "uncoated"),
        ("PRINT_CONDITIONS", "paper type 1 or 2 = coated art, 115 g/m2", "finish", None),
        ("PRINT_CONDITIONS", "paper type 4 = uncoated white", "finish", None),
        ("PRINT_AGE_HOURS", "23", "age_hours", 23.0),
        ("PRINT_AGE_HOURS", "36,5 h", "age_hours", 36.5),
        ("DESCRIPTOR", "pigment inkjet on matte paper, read 23 h after printing", "age_hours", 23.0),
        ("DESCRIPTOR", "read 2 days after printing", "age_hours", 48.0),
        ("DESCRIPTOR", "after 24 h drying", "age_hours", 24.0),
        ("DESCRIPTOR", "chart 24 h", "age_hours", None),
    ],
)
def test_other_conditions(keyword, value, name, expected):
    assert one(keyword, value, name) == expected


def test_a_finish_that_is_neither_is_a_warning():
    found, (problem,) = conditions(("FINISH", "eggshell"))
    assert not found.finish.known
    assert "eggshell" in problem.what


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2025-04-08T09:48:45", "2025-04-08T09:48:45"),
        ("2013-11-21 17:56:43", "2013-11-21T17:56:43"),
        ("2026-01-13T10:17:00Z", "2026-01-13T10:17:00Z"),
        ("2026-01-13 10:17:00.5+01:00", "2026-01-13T10:17:00.5+01:00"),
        ("2026-01-13 10:17:00 PM", "2026-01-13 10:17:00 PM"),
        ("2013/10/29", "2013-10-29"),
        ("December 2006", "2006-12"),
        ("January 29, 2001", "2001-01-29"),
        ("29 January 2001", "2001-01-29"),
        ("8/28/2006", "2006-08-28"),
        ("28.8.2006", "2006-08-28"),
        ("8/3/2006   Time: 20:57", "8/3/2006   Time: 20:57"),
        ("99/99/2006", "99/99/2006"),
        ("last week", "last week"),
        ("", ""),
    ],
)
def test_dates_are_made_iso_only_where_clear(text, iso):
    assert iso_date(text) == iso
