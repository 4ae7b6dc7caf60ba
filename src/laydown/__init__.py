"""Trials of fine-art inkjet media: which medium is better, and is the difference real?"""

__version__ = "0.1.0"
