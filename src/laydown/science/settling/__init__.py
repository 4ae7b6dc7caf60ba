"""How a print changes in the hours after printing, and when it has stopped changing."""
