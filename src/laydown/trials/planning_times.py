"""How long the work of a trial takes: planning figures, good enough to see whether a week is enough."""

from __future__ import annotations

from laydown.kernel.constants import Constant

OURS = "our own planning figure; the bench will show"
BOOK_IN_HOURS = Constant(1.0, "h", OURS, "computed")
SETTING_HOURS = Constant(0.5, "h for each candidate", OURS, "computed")
CHART_HOURS = Constant(0.75, "h for each candidate", OURS, "computed")
PROFILE_HOURS = Constant(0.75, "h for each candidate", OURS, "computed")
SHEET_MINUTES = Constant(
    8.0, "min for each sheet", "6 to 15 min per m2 and 2 to 5 min beside it", "common practice, no source"
)
MEASURE_MINUTES = Constant(10.0, "min for each sheet", OURS, "computed")
COAT_SETUP_MINUTES = Constant(20.0, "min", "15 to 25 min to set up and clean", "common practice, no source")
COAT_MINUTES = Constant(
    5.0, "min for each sheet", "two coats of 4 to 8 min per m2", "common practice, no source"
)
HANDLING_HOURS = Constant(4.0, "h", OURS, "computed")
LOOK_HOURS = Constant(3.0, "h", OURS, "computed")
WINDOW_WEEKS = Constant(13.0, "weeks", "strips read at 2, 4, 8 and 13 weeks", "common practice, no source")
DARK_WEEKS = Constant(2.0, "weeks", "a dark rest, then read again; its length is ours", "computed")
CLOSE_HOURS = Constant(24.0, "h", "our own choice: less than a day before the stop date is close", "computed")
