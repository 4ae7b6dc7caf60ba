"""What importing the colour science may cost."""

from __future__ import annotations

import subprocess
import sys

import laydown.science.colour as front_door


def test_importing_loads_nothing_heavy_and_reads_no_table() -> None:
    code = (
        "import sys; import laydown.science.colour, laydown.science.medium;"
        "from laydown.science.colour import packaged_tables as t;"
        "assert t.tristimulus_weights.cache_info().currsize == 0;"
        "print(sorted({m.split('.')[0] for m in sys.modules} & {'scipy', 'pandas', 'matplotlib', 'colour'}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "[]"


def test_every_name_at_the_front_door_is_there_and_described() -> None:
    assert len(set(front_door.__all__)) == len(front_door.__all__)
    for name in front_door.__all__:
        text = getattr(front_door, name).__doc__
        for heading in ("Parameters", "Returns", "Checked against"):
            assert heading in text, f"{name} lacks {heading}"
