"""Readers of measurement files: bytes in, readings with their conditions and every problem out."""

from laydown.science.readings.reading import read_measurements
from laydown.science.readings.types import Conditions, FileReadings, Readings

__all__ = ["Conditions", "FileReadings", "Readings", "read_measurements"]
