"""Checks the house rules that no general tool knows; prints every breach as file:line and exits 1.

Rules (see ARCHITECTURE.md): short files and bodies, no ``global``, no files, clock or hidden randomness in
science and trials, public science functions carry the agreed docstring sections, nothing called utils.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

LONGEST_FILE = 500
LONGEST_BODY = 80
VAGUE_NAMES = {"utils", "util", "common", "misc", "helpers"}
FILE_CALLS = {"read_text", "read_bytes", "write_text", "write_bytes", "unlink", "mkdir", "open"}
CLOCK_CALLS = {"now", "utcnow", "today", "time", "monotonic", "perf_counter"}
CLOCK_OWNERS = {"datetime", "date", "time"}
SECTIONS = ("Parameters", "Returns")
PROOF = "Checked against"

# The packaged weighting tables are the one thing science may read: they are constants too long to type.
MAY_READ_PACKAGED_DATA = {"importlib.resources"}


def breaches(root: Path) -> Iterator[str]:
    """Every breach below ``root`` (a folder that holds ``laydown/``), as ``file:line: what``."""
    for path in sorted(root.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        tree = ast.parse(text)
        place = path.relative_to(root).as_posix()
        pure = place.startswith(("laydown/science/", "laydown/trials/", "laydown/kernel/"))
        yield from (f"{place}:{line}: {what}" for line, what in _everywhere(path, text, tree))
        if pure:
            yield from (f"{place}:{line}: {what}" for line, what in _in_pure_code(tree))
        if place.startswith("laydown/science/") and not path.name.startswith("_"):
            yield from (f"{place}:{line}: {what}" for line, what in _docstrings(tree))


def _everywhere(path: Path, text: str, tree: ast.Module) -> Iterator[tuple[int, str]]:
    if path.stem in VAGUE_NAMES or path.parent.name in VAGUE_NAMES:
        yield 1, "a file is named for its one idea, not 'utils' or 'common'"
    lines = text.count("\n")
    if lines > LONGEST_FILE:
        yield 1, f"{lines} lines; a file stops at {LONGEST_FILE}"
    for node in ast.walk(tree):
        if isinstance(node, ast.Global):
            yield node.lineno, "no 'global': pass it in"
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and _body_lines(node) > LONGEST_BODY:
            yield node.lineno, f"{node.name} has {_body_lines(node)} lines; a body stops at {LONGEST_BODY}"


def _body_lines(node: ast.FunctionDef | ast.AsyncFunctionDef) -> int:
    body = node.body[1:] if ast.get_docstring(node) is not None else node.body
    return 0 if not body else (body[-1].end_lineno or 0) - body[0].lineno + 1


def _in_pure_code(tree: ast.Module) -> Iterator[tuple[int, str]]:
    packaged = any(
        isinstance(node, ast.ImportFrom)
        and (node.module in MAY_READ_PACKAGED_DATA or node.module == "importlib")
        for node in ast.walk(tree)
    )
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        function = node.func
        if isinstance(function, ast.Name) and function.id in {"open", "print", "input"}:
            yield node.lineno, f"science and kernel do not call {function.id}()"
        if isinstance(function, ast.Attribute):
            if function.attr in FILE_CALLS and not packaged:
                yield node.lineno, f"science and kernel touch no files ({function.attr})"
            owner = function.value
            if isinstance(owner, ast.Name) and owner.id in CLOCK_OWNERS and function.attr in CLOCK_CALLS:
                yield node.lineno, "science and kernel read no clock: pass the time in"
            if function.attr == "default_rng":
                yield node.lineno, "science takes its rng as an argument"


def _docstrings(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Public functions of science with parameters say what goes in, what comes out, and the proof."""
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
            continue
        told = ast.get_docstring(node) or ""
        missing = [section for section in (*SECTIONS, PROOF) if section not in told]
        if not (node.args.args or node.args.kwonlyargs):
            missing = [section for section in missing if section != "Parameters"]
        if missing:
            yield node.lineno, f"docstring of {node.name} lacks: {', '.join(missing)}"


def main() -> int:
    """Check the source folder given (default: src)."""
    root = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).resolve().parents[1] / "src"
    found = list(breaches(root))
    for line in found:
        print(line)
    print(f"house rules: {len(found)} breach(es)")
    return 1 if found else 0


if __name__ == "__main__":
    raise SystemExit(main())
