"""Every rule that matters is checked by a program; here each program is shown a breach and must see it."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LINT = [sys.executable, "-c", "from importlinter.cli import lint_imports_command as run; run()", "--no-cache"]

IMPORT_BREACHES = {
    "Imports go down only": ("trials/planted.py", "import laydown.records.ledger\n"),
    "Inside science imports go down only": ("science/tone/planted.py", "import laydown.science.gamut\n"),
    "Pure layers know no plotting": ("trials/planted.py", "import plotly\n"),
    "Only records talks SQL": ("usecases/planted.py", "import sqlalchemy\n"),
    "Only web knows the web framework": ("cli/planted.py", "import fastapi\n"),
    "Only boot reads settings": ("usecases/planted.py", "import platformdirs\n"),
    "Oracles of the tests never become dependencies": ("science/colour/planted.py", "import colour\n"),
}


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "src", tmp_path / "src", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def _lint(checkout: Path) -> subprocess.CompletedProcess[str]:
    environment = {"PYTHONPATH": str(checkout / "src"), "PATH": "", "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.run(LINT, cwd=checkout, env=environment, capture_output=True, text=True, timeout=120)


@pytest.mark.parametrize("contract", IMPORT_BREACHES)
def test_import_contract_bites(checkout: Path, contract: str) -> None:
    place, text = IMPORT_BREACHES[contract]
    (checkout / "src/laydown" / place).write_text(f'"""Planted."""\n{text}', encoding="utf-8")
    done = _lint(checkout)
    assert done.returncode != 0, done.stdout
    broken = [line for line in done.stdout.splitlines() if line.rstrip().endswith("BROKEN")]
    assert any(contract in line for line in broken), done.stdout


def test_a_new_folder_must_be_given_its_layer(checkout: Path) -> None:
    (checkout / "src/laydown/elsewhere").mkdir()
    (checkout / "src/laydown/elsewhere/__init__.py").write_text('"""Planted."""\n', encoding="utf-8")
    assert _lint(checkout).returncode != 0


HOUSE_BREACHES = {
    "a file stops at": ("kernel/planted.py", "x = 1\n" * 501),
    "a body stops at": ("kernel/planted.py", "def f() -> None:\n" + "    x = 1\n" * 81),
    "no 'global'": ("web/planted.py", "def f() -> None:\n    global x\n    x = 1\n"),
    "do not call open()": ("science/planted.py", "y = open('a')\n"),
    "do not call print()": ("science/planted.py", "print(1)\n"),
    "touch no files (read_text)": ("science/planted.py", "y = Path('a').read_text()\n"),
    "read no clock": ("science/planted.py", "y = datetime.now()\n"),
    "takes its rng as an argument": ("science/planted.py", "y = np.random.default_rng()\n"),
    "docstring of f lacks: Parameters": ("science/planted.py", 'def f(a: int) -> int:\n    """Do."""\n'),
    "Checked against": ("science/planted.py", 'def f(a: int) -> int:\n    """Do."""\n'),
    "named for its one idea": ("kernel/utils.py", "x = 1\n"),
}


@pytest.mark.parametrize("told", HOUSE_BREACHES)
def test_house_rule_bites(tmp_path: Path, told: str) -> None:
    place, text = HOUSE_BREACHES[told]
    file = tmp_path / "laydown" / place
    file.parent.mkdir(parents=True)
    file.write_text(text, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, ROOT / "tools/house_rules.py", tmp_path], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 1
    assert told in done.stdout


def test_house_rules_pass_a_clean_file(tmp_path: Path) -> None:
    (tmp_path / "laydown/science").mkdir(parents=True)
    (tmp_path / "laydown/science/clean.py").write_text('"""Clean."""\nX = 1\n', encoding="utf-8")
    done = subprocess.run([sys.executable, ROOT / "tools/house_rules.py", tmp_path], timeout=60, check=False)
    assert done.returncode == 0
