"""Whether a browser shows or saves what it is given, and under which name."""

from __future__ import annotations

from urllib.parse import quote


def disposition(name: str, *, shown: bool) -> str:
    """The Content-Disposition of a file, whatever signs are in its name (RFC 6266, RFC 8187)."""
    plain = "".join(
        sign if sign.isascii() and sign.isprintable() and sign not in '"\\' else "_" for sign in name
    )
    how = "inline" if shown else "attachment"
    return f"{how}; filename=\"{plain}\"; filename*=UTF-8''{quote(name, safe='')}"
