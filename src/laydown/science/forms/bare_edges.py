"""What stays bare about printed pieces on a roll or a sheet, as studios usually have it."""

from __future__ import annotations

from laydown.kernel.constants import Constant

LEAD_MM = Constant(100.0, "mm", "75 to 150 mm are lost at each load", "common practice, no source")
TAIL_MM = Constant(100.0, "mm", "75 to 150 mm are lost at each load", "common practice, no source")
GAP_MM = Constant(10.0, "mm", "6 to 15 mm between pieces", "common practice, no source")
SIDE_MM = Constant(5.0, "mm", "5 to 15 mm are kept free at the edges", "common practice, no source")
