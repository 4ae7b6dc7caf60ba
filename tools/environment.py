"""Makes the checkout's own environment in .venv, from wheels; standard library only.

Used by start.py and check.py. A stamp in the environment says what was installed, so that a second start
does no work.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
ENVIRONMENT = ROOT / ".venv"
MINIMUM = (3, 11)


def environment_python() -> Path:
    """The Python of the checkout's environment (which may not exist yet)."""
    return ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def make_environment(*, extra: str = "") -> Path:
    """Create or bring up to date the environment, with the optional ``extra``; return its Python."""
    if sys.version_info < MINIMUM:
        raise SystemExit(f"Laydown needs Python 3.11 or newer; this is {sys.version.split()[0]}.")
    python = environment_python()
    wanted = _wanted()
    if python.exists() and extra in _installed(wanted):
        return python
    print("Setting up Laydown's own environment in .venv (a few minutes the first time) ...", flush=True)
    if not python.exists():
        _create(python)
    _install(python, extra)
    extras = sorted(_installed(wanted) | {extra, ""})
    _stamp().write_text("\n".join([wanted, *extras]), encoding="utf-8")
    return python


def _wanted() -> str:
    told = (ROOT / "pyproject.toml").read_bytes() + f"{sys.version_info[:2]} {ROOT}".encode()
    return hashlib.sha256(told).hexdigest()


def _stamp() -> Path:
    return ENVIRONMENT / "laydown-installed.txt"


def _installed(wanted: str) -> set[str]:
    """Extras the environment holds for the wanted state ('' is the plain install)."""
    try:
        first, *extras = _stamp().read_text(encoding="utf-8").split("\n")
    except OSError:
        return set()
    return set(extras) if first == wanted else set()


def _create(python: Path) -> None:
    """Make the environment; where Python lacks its own pip (some systems split it off), use another pip."""
    made = subprocess.run([sys.executable, "-m", "venv", str(ENVIRONMENT)], capture_output=True, text=True)
    if made.returncode == 0:
        return
    plain = [sys.executable, "-m", "venv", "--clear", "--without-pip", str(ENVIRONMENT)]
    bare = subprocess.run(plain, capture_output=True, text=True)
    has_pip = subprocess.run([sys.executable, "-m", "pip", "--version"], capture_output=True)
    if bare.returncode != 0 or has_pip.returncode != 0 or not python.exists():
        raise SystemExit(
            "Python could not make an environment of its own:\n"
            f"{made.stdout}{made.stderr}\n"
            "On Debian and Ubuntu install the package python3-venv, then start again."
        )


def _install(python: Path, extra: str) -> None:
    target = f"{ROOT}[{extra}]" if extra else str(ROOT)
    pip = [str(python), "-m", "pip"]
    if subprocess.run([*pip, "--version"], capture_output=True).returncode != 0:
        pip = [sys.executable, "-m", "pip", "--python", str(python)]
    quiet = ["--quiet", "--disable-pip-version-check", "--no-input"]
    # Wheels only: a print studio has no compiler, and a build from source may run anything. One library that
    # the tests compare with (pure Python) comes as source only.
    wheels = ["--only-binary", ":all:", *(["--no-binary", "colormath"] if extra else [])]
    done = subprocess.run([*pip, "install", *quiet, *wheels, "--editable", target])
    if done.returncode != 0:
        raise SystemExit(
            "The packages Laydown needs could not be installed (see above). "
            "The first start needs the internet; later ones do not."
        )
