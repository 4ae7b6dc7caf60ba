"""The invented comparison every report is tested with."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from laydown.usecases.comparison import Comparison


def _load(name: str) -> ModuleType:
    if name in sys.modules:
        return sys.modules[name]
    spec = importlib.util.spec_from_file_location(name, Path(__file__).parent / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def builder() -> ModuleType:
    """The module ``a_comparison``: ``build()`` and the media it builds from."""
    return _load("a_comparison")


@pytest.fixture(scope="session")
def comparison(builder: ModuleType) -> Comparison:
    result = builder.build()
    assert isinstance(result, Comparison)
    return result
