"""Reads pages in tests: what is where, and what a form holds."""

from __future__ import annotations

from typing import Any

import httpx
import lxml.html


def tree(answer: httpx.Response) -> Any:
    """The page as a tree."""
    return lxml.html.fromstring(answer.text)


def words(answer: httpx.Response) -> str:
    """All words of the main part, with single blanks."""
    (main,) = tree(answer).xpath("//main")
    return " ".join(" ".join(main.itertext()).split())


def classed(node: Any, *names: str, tag: str = "*") -> list[Any]:
    """Every element below that has all these classes."""
    wanted = " and ".join(
        f"contains(concat(' ', normalize-space(@class), ' '), ' {name} ')" for name in names
    )
    found: list[Any] = node.xpath(f".//{tag}[{wanted}]")
    return found


def alert(answer: httpx.Response) -> str:
    """The reason a page gives for a refusal."""
    (box,) = tree(answer).xpath("//*[@role='alert']")
    return " ".join(box.text_content().split())


def forms_of(answer: httpx.Response, action: str) -> list[dict[str, Any]]:
    """The fields of every form that goes to an address, as the page holds them."""
    return [
        {name: value for name, value in form.form_values() if value is not None}
        for form in tree(answer).forms
        if form.action == action
    ]
