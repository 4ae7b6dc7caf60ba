"""How much a reader takes before it stops, so that one bad file costs neither memory nor time."""

from __future__ import annotations

from typing import Final

from laydown.kernel.constants import Constant

_OURS = "Laydown's own limit, far above any chart in use"
_KIND: Final = "common practice, no source"

MAX_FILE_BYTES: Final = Constant(512 * 1024 * 1024, "bytes", _OURS, _KIND)
MAX_XML_BYTES: Final = Constant(128 * 1024 * 1024, "bytes", _OURS, _KIND)
MAX_LINE_BYTES: Final = Constant(1024 * 1024, "bytes", _OURS, _KIND)
MAX_HEADER_BYTES: Final = Constant(2 * 1024 * 1024, "bytes", _OURS, _KIND)
MAX_HEADER_LINES: Final = Constant(20_000, "lines of header over all tables", _OURS, _KIND)
MAX_FIELDS: Final = Constant(4096, "columns", _OURS, _KIND)
MAX_TABLES: Final = Constant(64, "tables", _OURS, _KIND)
MAX_CELL_CHARACTERS: Final = Constant(64, "characters of one number", _OURS, _KIND)
MAX_INFLATED_BYTES: Final = Constant(256 * 1024 * 1024, "bytes", _OURS, _KIND)
MAX_REPORTED_PER_KIND: Final = Constant(12, "problems of one kind named one by one", _OURS, _KIND)
