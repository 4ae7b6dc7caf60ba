"""Guards in front of every page: who may ask, from where, how much, and what the browser may do with it."""

from __future__ import annotations

import re
from collections.abc import Collection
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")
UNFORESEEN = "Something happened that was not foreseen; the window Laydown was started from says more."
LARGEST_FORM = 2 * 2**20
LARGEST_UPLOAD = 600 * 2**20
_STREAMED = re.compile(r"/drafts/[^/]+/files")  # a file as it comes, straight onto the disk
_HOST = re.compile(r"(\[[0-9a-f:.]+\]|[a-z0-9._-]+)(:[0-9]{1,5})?", re.IGNORECASE | re.ASCII)
_LENGTH = re.compile(r"[0-9]{1,15}", re.ASCII)
CONTENT_SECURITY_POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    # "same-origin" and not "no-referrer": the latter makes browsers send "Origin: null" with forms.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
}
TLS_HEADERS = {"Strict-Transport-Security": "max-age=31536000"}


class Guard:
    """Refuses strange hosts and foreign origins, and adds the security headers.

    The host check stops a web page elsewhere from reaching this server under a name of its own (DNS
    rebinding); the origin check stops it from sending forms here.
    """

    def __init__(self, app: ASGIApp, *, hosts: Collection[str] = LOOPBACK_NAMES, tls: bool = False) -> None:
        self.app = app
        self.hosts = frozenset(hosts)
        self.scheme = "https" if tls else "http"
        self.headers = {**HEADERS, **(TLS_HEADERS if tls else {})}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refusal = self._refusal(scope["method"], scope["path"], Headers(scope=scope))

        begun = False

        async def send_guarded(message: Message) -> None:
            nonlocal begun
            begun = True
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in self.headers.items():
                    headers[name] = value
                # What pages are drawn with holds nothing of anybody; a browser asks whether it is as it was.
                drawn_with = scope["path"].startswith("/static/")
                headers.setdefault("Cache-Control", "no-cache" if drawn_with else "no-store")
            await send(message)

        app = self.app if refusal is None else refusal
        try:
            await app(scope, receive, send_guarded)
        except Exception:
            if not begun:  # else the answer would be made further out, without these headers
                await PlainTextResponse(UNFORESEEN, 500)(scope, receive, send_guarded)
            raise

    def _refusal(self, method: str, path: str, headers: Headers) -> PlainTextResponse | None:
        host = headers.get("host", "")
        if _name_of(host) not in self.hosts:
            return PlainTextResponse("Laydown answers only to its own names.", 421)
        if method in {"GET", "HEAD"}:
            return None
        if not _same_origin(headers, self.scheme, host):
            return PlainTextResponse("Refused: the request did not come from a page of Laydown.", 403)
        return _too_large(path, headers)


def _too_large(path: str, headers: Headers) -> PlainTextResponse | None:
    """What is larger than can be meant is refused before any of it is received, and so is what does not say.

    The server holds a body to the length it states, so that this bounds what anybody can have kept in memory.
    """
    with_files = headers.get("content-type", "").lower().startswith("multipart/")
    length = headers.get("content-length", "" if with_files or "transfer-encoding" in headers else "0")
    if not _LENGTH.fullmatch(length):
        return PlainTextResponse("Refused: it must say how large it is (Content-Length).", 411)
    largest = LARGEST_UPLOAD if with_files or _STREAMED.fullmatch(path) else LARGEST_FORM
    if int(length) > largest:
        return PlainTextResponse("Refused: this is larger than any page of Laydown sends.", 413)
    return None


def _same_origin(headers: Headers, scheme: str, host: str) -> bool:
    origin = headers.get("origin")
    if origin is not None:
        return urlsplit(origin).scheme == scheme and urlsplit(origin).netloc == host
    return headers.get("sec-fetch-site") == "same-origin"


def _name_of(host: str) -> str:
    """The name in a Host header; empty where it holds anything besides a name and a port."""
    found = _HOST.fullmatch(host)
    return found[1].lower() if found else ""
