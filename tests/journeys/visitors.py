"""People who come to a workbench with a browser of their own, and what their pages complain about."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page

DESK = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}
PATIENCE_MS = 90_000


@dataclass
class Visitors:
    """Opens browsers of their own at a workbench, and watches that their pages stay silent."""

    browser: Browser
    complaints: list[str] = field(default_factory=list)
    contexts: list[BrowserContext] = field(default_factory=list)

    def come(self, address: str, *, network_may_fail: bool = False, **options: Any) -> Page:
        """A page of somebody who has not been there; ``options`` are those of a browser's context."""
        options = {"viewport": DESK, "reduced_motion": "reduce", **options}
        context = self.browser.new_context(base_url=address, **options)
        context.set_default_timeout(PATIENCE_MS)
        self.contexts.append(context)
        page = context.new_page()
        self.watch(page, address, network_may_fail=network_may_fail)
        return page

    def leave(self) -> None:
        """Close every browser."""
        for context in self.contexts:
            context.close()

    def watch(self, page: Page, address: str, *, network_may_fail: bool = False) -> None:
        """Note every error, everything refused, and everything asked of any other server."""

        def on_console(message: ConsoleMessage) -> None:
            # That an answer refuses something is no complaint of the page: it shows why. Warnings of the
            # graphics driver are about this machine.
            told = any(f"status of {status}" in message.text for status in (400, 403, 422))
            told = told or (network_may_fail and "net::ERR_" in message.text)
            if (message.type == "error" or "Content Security Policy" in message.text) and not told:
                self.complaints.append(f"console: {message.text}")

        def on_request(url: str) -> None:
            if urlsplit(url).scheme not in {"data", "blob"} and not url.startswith(address):
                self.complaints.append(f"asked elsewhere: {url}")

        page.on("console", on_console)
        page.on("pageerror", lambda error: self.complaints.append(f"script: {error}"))
        page.on("request", lambda request: on_request(request.url))
