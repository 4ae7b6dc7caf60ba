"""Forms sent as a browser sends them: every field as it stands on the page, but for those that are typed."""

from __future__ import annotations

from typing import Any

import httpx
import lxml.html


def parsed(answer: httpx.Response) -> Any:
    return lxml.html.fromstring(answer.text)


def words(element: Any) -> str:
    return " ".join(element.text_content().split())


def form_at(client: httpx.Client, page: str, action: str) -> dict[str, str]:
    """The fields of the form with that action on a page, as they stand."""
    answer = client.get(page)
    assert answer.status_code == 200, answer.text
    forms = [form for form in parsed(answer).forms if form.get("action") == action]
    assert len(forms) == 1, f"{len(forms)} forms go to {action} on {page}"
    return dict(forms[0].form_values())


def send(client: httpx.Client, page: str, action: str, /, **typed: str) -> httpx.Response:
    """Fill a form in and send it; the session's word comes from the form, as in a browser."""
    fields = form_at(client, page, action)
    missing = set(typed) - set(fields)
    # A select without a chosen option and a box that is not ticked send nothing: they are no values yet.
    known = {
        name
        for form in parsed(client.get(page)).forms
        if form.get("action") == action
        for name in form.fields
    }
    assert missing <= known, f"{missing - known} are no fields of {action}"
    own = {name: value for name, value in client.headers.items() if name != "x-csrf-token"}
    with httpx.Client(base_url=client.base_url, headers=own, timeout=60) as browser:
        return browser.post(action, data=fields | typed)


def undo_on(client: httpx.Client, address: str) -> httpx.Response:
    """Press Undo on the page an act led to."""
    forms = [f for f in parsed(client.get(address)).forms if "/undo" in f.get("action", "")]
    assert len(forms) == 1, address
    return client.post(forms[0].get("action"), data=dict(forms[0].form_values()))
