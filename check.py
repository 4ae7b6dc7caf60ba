"""Set everything up and run every test and check: ``python3 check.py``.

The exit code is 0 only when every check that could run passed. What was left out (no browser, no measured
data beside the checkout) is said loudly at the end. Options after ``--`` go to pytest.
"""

from __future__ import annotations

import re
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent / "tools"))

from environment import ROOT, make_environment

LINT_IMPORTS = "from importlinter.cli import lint_imports_command as run; run()"


def main() -> int:
    """Run every check, keep going after a failure, and sum up."""
    python = str(make_environment(extra="checks"))
    to_pytest = sys.argv[sys.argv.index("--") + 1 :] if "--" in sys.argv else []
    steps: dict[str, list[str]] = {
        "ruff check": [python, "-m", "ruff", "check", "."],
        "ruff format": [python, "-m", "ruff", "format", "--check", "."],
        "mypy --strict": [python, "-m", "mypy"],
        # Without its cache, which has been seen to remember imports that are gone.
        "import contracts": [python, "-c", LINT_IMPORTS, "--no-cache"],
        "house rules": [python, "tools/house_rules.py"],
        "tests": [python, "-m", "pytest", "-n", "auto", "--dist", "loadfile", *to_pytest],
    }
    failed, left_out = [], []
    for name, command in steps.items():
        print(f"\n=== {name}", flush=True)
        began = time.monotonic()
        code, printed = _run(command)
        left_out += re.findall(r"LEFT OUT: [^\n']*", printed)
        print(
            f"--- {name}: {'passed' if code == 0 else 'FAILED'} in {time.monotonic() - began:.0f} s",
            flush=True,
        )
        if code != 0:
            failed.append(name)
    print()
    for line in sorted(set(left_out)):
        print(f"!!! {line}")
    print(f"FAILED: {', '.join(failed)}" if failed else "Every check that ran passed.")
    return 1 if failed else 0


def _run(command: list[str]) -> tuple[int, str]:
    """Run a step, show what it prints as it comes, and keep it."""
    kept = []
    with subprocess.Popen(
        command,
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
    ) as step:
        assert step.stdout is not None
        for line in step.stdout:
            print(line, end="", flush=True)
            kept.append(line)
    return step.returncode, "".join(kept)


if __name__ == "__main__":
    raise SystemExit(main())
