"""One file for each revision; each names the one before it."""
