"""A trial as one file: out, in, and for support."""
