"""The chain of revisions that brings a database of any age up to date. Adding one: docs/decisions/0003."""
