from __future__ import annotations

import subprocess
import sys

import laydown.report


def test_importing_reports_loads_nothing_heavy() -> None:
    code = (
        "import sys, laydown.report, laydown.report.figures\n"
        "print([m for m in ('vl_convert', 'typst', 'plotly', 'pandas', 'matplotlib') if m in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60)
    assert ran.stdout.strip() == "[]"


def test_front_door_is_an_explicit_list() -> None:
    assert set(laydown.report.__all__) == {
        "dossier_pdf",
        "json_text",
        "render_plain",
        "render_rich",
        "schema",
        "to_json",
    }
    assert all(hasattr(laydown.report, name) for name in laydown.report.__all__)
