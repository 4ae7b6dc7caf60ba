"""Writes the parts of the documentation that are made from the code: commands and the table of findings.

python tools/write_docs.py            # write
python tools/write_docs.py --check    # exit 1 where what is written is out of date
"""

from __future__ import annotations

import sys
from pathlib import Path

import click

from laydown.cli.main import group
from laydown.science.findings.catalogue import METRICS
from laydown.science.findings.metric import FAMILY_TITLES, Metric

ROOT = Path(__file__).resolve().parents[1]
MADE = "<!-- Made by tools/write_docs.py; change the code and run it again. -->\n"


def commands() -> str:
    """The help of every command."""
    parts = ["# Commands\n", MADE, _help(group, ["laydown"])]
    context = click.Context(group, info_name="laydown")
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        parts.append(f"## laydown {name}\n")
        parts.append(_help(command, ["laydown", name]))
        if isinstance(command, click.Group):
            for inner in command.list_commands(context):
                one = command.get_command(context, inner)
                assert one is not None
                parts.append(f"### laydown {name} {inner}\n")
                parts.append(_help(one, ["laydown", name, inner]))
    return "\n".join(parts)


def _help(command: click.Command, names: list[str]) -> str:
    context = None
    for depth, name in enumerate(names):
        owner = command if depth == len(names) - 1 else group
        settings = group.context_settings
        context = click.Context(owner, info_name=name, parent=context, **settings, terminal_width=80)
    assert context is not None
    text = "\n".join(line.rstrip() for line in command.get_help(context).splitlines())
    return f"```text\n{text}\n```\n"


def findings() -> str:
    """Every kind of finding, by family."""
    parts = [
        "# Findings\n",
        MADE,
        "Every number Laydown finds about a medium. *Margin* is the smallest difference that matters, by",
        "default; yours go into a margins file ([guide](../guide/trial-file.md)). *Judged*: its differences",
        "are called. All margins are common practice, no source.\n",
    ]
    for family, title in FAMILY_TITLES.items():
        parts.append(f"## {title}\n")
        parts.append("| id | what | unit | under | definition | source | margin | better | judged |")
        parts.append("|---|---|---|---|---|---|---|---|---|")
        parts += [_row(metric) for metric in METRICS.values() if metric.family == family]
        parts.append("")
    return "\n".join(parts)


def _row(metric: Metric) -> str:
    margin = "-" if metric.margin is None else f"{float(metric.margin):g}"
    if metric.margin is not None and metric.margin_is_relative:
        margin = f"{float(metric.margin):.0%}"
    better = {"none": "-"}.get(metric.preference, metric.preference)
    cells = (
        f"`{metric.id}`",
        metric.label,
        metric.unit,
        metric.colorimetry,
        metric.method,
        metric.source,
        margin,
        better,
        "yes" if metric.judged else "no",
    )
    return "| " + " | ".join(cell.replace("|", "/") for cell in cells) + " |"


def main() -> int:
    """Write, or check, both files."""
    made = {ROOT / "docs/guide/commands.md": commands(), ROOT / "docs/methods/findings.md": findings()}
    if "--check" in sys.argv[1:]:
        stale = [path for path, text in made.items() if not path.exists() or path.read_text("utf-8") != text]
        for path in stale:
            print(f"{path.relative_to(ROOT)} is out of date: run python tools/write_docs.py")
        return 1 if stale else 0
    for path, text in made.items():
        path.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
