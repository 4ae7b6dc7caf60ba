"""At the printer and after: runs, what happened to sheets, clocks."""
