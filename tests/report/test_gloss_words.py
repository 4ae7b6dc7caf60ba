"""Gloss in words, as JSON and in the PDF: the same numbers everywhere, and nothing where nothing was read."""

from __future__ import annotations

import io
import json
import re
from datetime import UTC, datetime

import jsonschema
import pytest
from pypdf import PdfReader

from laydown.records.ledger import Records
from laydown.report.dossier import dossier_pdf
from laydown.report.dossier_view import dossier_view
from laydown.report.gloss_words import gloss_results
from laydown.report.json_view import schema, to_json
from laydown.trials.measured import GlossReading
from laydown.usecases.comparison import Comparison
from laydown.usecases.demo_trial import HOUSE
from laydown.usecases.measuring.gloss_comparison import GlossComparison, compare_gloss
from spring_trial import GLOSS, spring_trial

SETTLED = datetime(2026, 1, 14, 10, 0, tzinfo=UTC)
# Means over sheets: 3.0 and 29.0; invented.
WHITES = {"K2": (2.9, 3.1), "K3": (3.2, 3.4), "K4": (2.7, 2.7), "H5": (28.0,), "H6": (29.0,), "H7": (30.0,)}


@pytest.fixture
def gloss(records: Records) -> GlossComparison:
    bench = spring_trial(records)
    bench.keep(
        *(
            GlossReading(
                id=code, trial_id="spring", sheet_id=f"s-{code}", place="paper white", angle=60,
                values=values, instrument="hand meter", received_at=SETTLED, measured_at=SETTLED,
            )
            for code, values in WHITES.items()
        )
    )  # fmt: skip
    return compare_gloss(bench.facts)


def test_a_table_says_mean_interval_sheets_and_call(gloss: GlossComparison) -> None:
    told = gloss_results(gloss)
    assert told is not None
    (table,) = told.tables
    house, satin = table.rows
    assert (table.label, table.condition) == ("Gloss of paper white", "60°, hand meter")
    assert (house.name, house.value, house.n, house.call) == (HOUSE, "3.0", "3 sheets", "")
    # scipy.stats.t.interval(0.95, 2, 29, 1 / 3 ** 0.5) is 26.516 to 31.484.
    assert (satin.value, satin.interval, satin.repeats) == ("29.0", "26.5 to 31.5", "–")
    assert satin.difference.startswith("+26.0 (")
    assert satin.call == "higher"
    assert (
        table.margin
        == "± 1.0 GU, a tenth of the gloss held against, at least 1 GU: our own judgement, no source"
    )
    assert told.against == HOUSE
    assert "shinier is not better" in told.basis


def test_json_keeps_full_numbers_and_fits_the_schema(comparison: Comparison, gloss: GlossComparison) -> None:
    told = to_json(comparison, gloss=gloss)
    jsonschema.validate(told, schema())
    medium = told["gloss"]["quantities"][0]["media"][1]
    assert medium["name"] == GLOSS
    assert medium["finding"]["value"] == gloss.quantities[0].media[1].finding.value
    assert medium["repeat_sd"] is None
    broken = json.loads(json.dumps(told))
    broken["gloss"]["quantities"][0]["media"][0]["gloss"] = 3
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(broken, schema())


def test_the_pdf_has_a_part_on_gloss(comparison: Comparison, gloss: GlossComparison) -> None:
    made = dossier_pdf(comparison, made_at="2026-01-31T09:30:00+00:00", gloss=gloss)
    text = re.sub(r"\s", "", "".join(page.extract_text() for page in PdfReader(io.BytesIO(made)).pages))
    assert "Glossofpaperwhite,60°,handmeter" in text
    assert "29.026.5to31.53sheets" in text


def test_nothing_read_leaves_every_form_as_it_was(comparison: Comparison, records: Records) -> None:
    nothing = compare_gloss(spring_trial(records).facts)
    assert gloss_results(nothing) is None
    assert to_json(comparison, gloss=nothing) == to_json(comparison)
    assert dossier_view(comparison, gloss=nothing) == dossier_view(comparison)
