"""Readings: taken in, placed, doubted, compared."""
