"""The commands as a newcomer types them."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from laydown.usecases.demo_trial import write_demo_trial


def laydown(*words: str | Path, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "laydown", *map(str, words)]
    return subprocess.run(command, cwd=cwd, capture_output=True, text=True, encoding="utf-8", timeout=120)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    folder = tmp_path_factory.mktemp("demo") / "trial"
    write_demo_trial(folder)
    return folder


def test_help_loads_no_science() -> None:
    """Quick help is a matter of imports: nothing heavy may be loaded for it."""
    code = (
        "import sys\n"
        "from laydown.cli.main import group\n"
        "group(['--help'], standalone_mode=False)\n"
        "heavy={'numpy','scipy','rich','fastapi','jinja2','lxml','typst','vl_convert'} & set(sys.modules)\n"
        "raise SystemExit(f'loaded {heavy}' if heavy else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    assert "compare" in done.stdout


def test_demo_then_compare(tmp_path: Path) -> None:
    wrote = laydown("demo", "trial", cwd=tmp_path)
    assert wrote.returncode == 0
    assert "invented" in wrote.stdout
    done = laydown("compare", "trial", "--json", "a.json", "--pdf", "a.pdf", "--plain", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert done.stdout.isascii()
    told = json.loads((tmp_path / "a.json").read_text(encoding="utf-8"))
    assert {c["name"] for c in told["candidates"]} == {
        p.name for p in (tmp_path / "trial").iterdir() if p.is_dir()
    }
    assert {d["call"] for d in told["differences"]} <= {
        "better",
        "worse",
        "higher",
        "lower",
        "same",
        "cannot_tell",
    }
    ids = {f["id"] for f in told["candidates"][0]["findings"]}
    assert ids >= {
        "white_l", "white_a", "white_b", "black_l", "dmax_visual", "gamut_volume", "brightener_db",
        "whiteness_cie", "tone_reversal", "shadow_steps_lost", "repeat_mcdm",
    }  # fmt: skip
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")


def test_json_to_the_terminal_is_nothing_but_json(demo: Path) -> None:
    done = laydown("compare", demo / "Samphire Gloss" / "sheet1-M1.txt", "--json", "-")
    assert json.loads(done.stdout)["candidates"][0]["sheets"] == 1


def test_margins_change_what_is_called(demo: Path, tmp_path: Path) -> None:
    (tmp_path / "m.json").write_text('{"white_b": {"margin": 50, "prefer": "higher"}}', encoding="utf-8")
    done = laydown("compare", demo, "--margins", tmp_path / "m.json", "--json", "-")
    told = json.loads(done.stdout)
    calls = {(d["finding"], d["call"]) for d in told["differences"] if d["finding"] == "white_b"}
    assert calls == {("white_b", "same")}
    assert next(d for d in told["differences"] if d["finding"] == "white_b")["margin"] == 50


def test_check_says_what_is_there_and_what_is_wrong(demo: Path, tmp_path: Path) -> None:
    done = laydown("check", demo / "Withy Canvas" / "sheet2-M1.txt")
    assert done.returncode == 0
    assert "M1 (" in done.stdout
    assert "looks swapped with patch" in done.stdout
    (tmp_path / "notes.txt").write_text("buy milk", encoding="utf-8")
    refused = laydown("check", tmp_path / "notes.txt")
    assert refused.returncode == 1
    assert "does not look like measurements" in refused.stdout.replace("\n", " ")


def test_gamut_names_the_kind_of_volume(demo: Path) -> None:
    done = laydown(
        "gamut", demo / "Samphire Gloss" / "sheet1-M1.txt", demo / "Withy Canvas" / "sheet1-M1.txt"
    )
    assert done.returncode == 0, done.stderr
    assert "closed surface" in done.stdout
    cut = laydown("gamut", demo / "Samphire Gloss" / "sheet1-M1.txt", "--slice", "42", "--json", "-")
    (slice_,) = json.loads(cut.stdout)["candidates"][0]["slices"]
    assert slice_["l"] == 42
    assert max(abs(a) for a, b in slice_["outlines_ab"][0]) > 40
    assert "Adobe RGB (1998)" in done.stdout


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["compare", "gone"], "there is no such file or folder"),
        (["compare", ".", "--house", "x"], "no measurement files|is not among"),
        (["compare", "notes.txt"], "no file could be used"),
        (["demo", "full"], "there is something here already"),
    ],
)
def test_mistakes_become_one_sentence(tmp_path: Path, words: list[str], sentence: str) -> None:
    (tmp_path / "notes.txt").write_text("buy milk", encoding="utf-8")
    (tmp_path / "full").mkdir()
    (tmp_path / "full/a.txt").write_text("x", encoding="utf-8")
    done = laydown(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert done.stderr.startswith("laydown: ")
    assert "Traceback" not in done.stderr
    assert any(part in done.stderr for part in sentence.split("|")), done.stderr


def test_one_bad_file_does_not_stop_the_others(demo: Path, tmp_path: Path) -> None:
    for name in ("A", "B"):
        (tmp_path / "t" / name).mkdir(parents=True)
        for n in (1, 2, 3):
            source = demo / "Samphire Gloss" / f"sheet{n}-M1.txt"
            (tmp_path / "t" / name / source.name).write_bytes(source.read_bytes())
    (tmp_path / "t/B/sheet4-M1.txt").write_bytes(b"CGATS.17\nnonsense")
    done = laydown("compare", tmp_path / "t", "--json", "-")
    told = json.loads(done.stdout)
    assert [c["sheets"] for c in told["candidates"]] == [3, 3]
    assert any(p["file"] == "B/sheet4-M1.txt" and p["severity"] == "error" for p in told["problems"])


def test_importing_the_package_costs_nothing() -> None:
    code = "import sys, laydown; raise SystemExit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], timeout=60).returncode == 0
