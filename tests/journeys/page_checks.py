"""What must hold of every page a journey passes."""

from __future__ import annotations

import re

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

GLOVE_PX = 56  # as high as what a gloved finger is to hit, as our style guide has it


def overflow(page: Page) -> int:
    """How many pixels lie beside the screen."""
    return int(page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth"))


def fits(page: Page) -> None:
    """Nothing lies beside the screen."""
    page.wait_for_load_state("load")
    assert overflow(page) <= 0, f"{page.url} is {overflow(page)} px too wide"


def everybody_can_use(page: Page) -> None:
    """No violation that axe-core calls serious or critical."""
    found = Axe().run(page).response["violations"]
    grave = [
        f"{one['id']}: {one['help']} {[node['target'] for node in one['nodes'][:3]]}"
        for one in found
        if one["impact"] in {"serious", "critical"}
    ]
    assert grave == [], f"{page.url}: {grave}"


def is_grey(page: Page) -> None:
    """Nothing but neutral greys: colours of the page would change how colours of prints look."""
    colours = page.evaluate(
        "[...new Set([...document.querySelectorAll('*')].flatMap((e) => { const s = getComputedStyle(e);"
        " return [s.color, s.backgroundColor, s.borderTopColor]; }))]"
    )
    for colour in colours:
        red, green, blue = (int(part) for part in re.findall(r"\d+", colour)[:3])
        assert red == green == blue, (page.url, colour)
