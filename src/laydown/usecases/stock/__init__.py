"""Printers, media, lots, rolls and certificates: put in, corrected, taken away."""
