"""Documentation that can be checked is checked."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from laydown.science.findings.catalogue import METRICS
from laydown.usecases.demo_trial import write_demo_trial

ROOT = Path(__file__).resolve().parents[2]
PAGES = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")])


def test_what_is_made_from_code_is_up_to_date() -> None:
    done = subprocess.run(
        [sys.executable, "tools/write_docs.py", "--check"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    text = page.read_text(encoding="utf-8")
    for link in re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", text):
        if "://" not in link and not link.startswith("mailto:"):
            assert (page.parent / link).exists(), f"{link} in {page.name}"


@pytest.mark.parametrize("unit", sorted({metric.unit for metric in METRICS.values()} - {"%"}))
def test_every_unit_is_in_the_glossary(unit: str) -> None:
    assert unit.casefold() in (ROOT / "GLOSSARY.md").read_text(encoding="utf-8").casefold()


def test_the_glossary_states_the_conventions_the_code_keeps() -> None:
    from laydown.science.colour import white_point

    told = (ROOT / "GLOSSARY.md").read_text(encoding="utf-8")
    assert ", ".join(f"{value:g}" for value in white_point("D50", "2")) in told


def test_every_cited_key_has_an_entry() -> None:
    bib = (ROOT / "REFERENCES.bib").read_text(encoding="utf-8")
    keys = re.findall(r"^@\w+\{([^,\s]+),", bib, flags=re.MULTILINE)
    assert keys
    assert len(keys) == len(set(keys)), "a key stands twice"


def test_the_python_guide_runs_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every block of the guide in one go, on the demo trial under the names the guide uses."""
    write_demo_trial(tmp_path / "trial")
    (tmp_path / "trial/Fenland Rag (house)").rename(tmp_path / "trial/House rag")
    (tmp_path / "trial/trial.json").unlink()
    text = (ROOT / "docs/guide/python.md").read_text(encoding="utf-8")
    blocks = re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL)
    assert len(blocks) == 5
    script = tmp_path / "guide.py"
    # Guarded as a script must be where processes are started afresh (Windows, macOS).
    body = "\n".join(f"    {line}" for block in blocks for line in block.splitlines())
    script.write_text(f'if __name__ == "__main__":\n{body}\n', encoding="utf-8")
    done = subprocess.run([sys.executable, script], cwd=tmp_path, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    assert "House rag" in done.stdout
    assert (tmp_path / "dossier.pdf").read_bytes().startswith(b"%PDF")
