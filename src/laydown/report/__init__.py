"""Page, PDF, JSON, terminal and figures, all made from one `Comparison`.

`to_json` and `json_text` give the data, `render_plain` and `render_rich` a terminal's text, `dossier_pdf` the
PDF; figures are in `laydown.report.figures`, and every number and call is put into words by
`laydown.report.wording`. Importing this loads no drawing or typesetting library.
"""

from __future__ import annotations

from laydown.report.dossier import dossier_pdf
from laydown.report.json_view import json_text, schema, to_json
from laydown.report.terminal import render_plain, render_rich

__all__ = ["dossier_pdf", "json_text", "render_plain", "render_rich", "schema", "to_json"]
