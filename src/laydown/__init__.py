"""Trials of fine-art inkjet media: which medium is better, and is the difference real?

    import laydown

    laydown.read("sheet1-M1.txt")                  # one measurement file, with its conditions and problems
    answer = laydown.compare("trial", house="...") # a folder of media -> findings, differences, calls
    laydown.to_json(answer)                        # the documented JSON
    laydown.dossier_pdf(answer, made_at="today")   # the PDF, as bytes

Metrics are pure functions on arrays in ``laydown.science``: ``colour``, ``medium``, ``gamut``, ``tone``,
``spread``, ``numeric`` and ``deciding``; ``prints`` is a model of printing with known truth. Names are
imported when they are first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from laydown.kernel.version import __version__

if TYPE_CHECKING:
    from laydown.notebook import compare, read
    from laydown.report import dossier_pdf, to_json

__all__ = ["__version__", "compare", "dossier_pdf", "read", "to_json"]


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for."""
    if name in {"compare", "read"}:
        from laydown import notebook

        return getattr(notebook, name)
    if name in {"dossier_pdf", "to_json"}:
        from laydown import report

        return getattr(report, name)
    raise AttributeError(f"module 'laydown' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted(__all__)
