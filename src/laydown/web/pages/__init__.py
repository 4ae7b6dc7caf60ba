"""The pages: one file each; parse, call one thing, show one view."""
