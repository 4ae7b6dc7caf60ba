"""Test forms: made, written out, and matched when they come back."""
