"""Set up Laydown where it lies and open the workbench on the demo trial: ``python3 start.py``.

Needs nothing but Python 3.11 or newer. Options: those of ``laydown open``.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent / "tools"))

from environment import make_environment


def main() -> int:
    """Make the environment and hand over to ``laydown open --demo`` with the options given."""
    asked_for_help = {"-h", "--help"} & set(sys.argv[1:])
    if asked_for_help:
        print(__doc__)
        return 0
    command = [str(make_environment()), "-m", "laydown", "open", "--demo", *sys.argv[1:]]
    if os.name == "posix":
        os.execv(command[0], command)  # one process, so that ending it ends the workbench
    try:
        return subprocess.call(command)
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    raise SystemExit(main())
