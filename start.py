"""Set up Laydown where it lies and open the workbench on the demo trial: ``python3 start.py``.

Needs nothing but Python 3.11 or newer. Options: ``--no-browser``, ``--port N``.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent / "tools"))

from environment import make_environment


def main() -> int:
    """Make the environment and hand over to ``laydown workbench`` with the options given."""
    asked_for_help = {"-h", "--help"} & set(sys.argv[1:])
    if asked_for_help:
        print(__doc__)
        return 0
    python = make_environment()
    try:
        return subprocess.call([str(python), "-m", "laydown", "workbench", *sys.argv[1:]])
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    raise SystemExit(main())
