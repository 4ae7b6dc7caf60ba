"""Says of every request who asks, before any page sees it."""

from __future__ import annotations

from starlette.types import ASGIApp, Receive, Scope, Send

from laydown.web.people import OWNER_HERE


class Doorkeeper:
    """On this computer only, whoever asks is its owner; a page finds them in ``request.state.person``."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, with who asks."""
        if scope["type"] == "http":
            scope.setdefault("state", {})["person"] = OWNER_HERE
        await self.app(scope, receive, send)
