"""Turns a view into HTML: one template per view, every gap in it an error."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from laydown.kernel.version import __version__
from laydown.web.views.frame import Frame, frame_of


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates, escaping everything, refusing what a view does not have."""
    templates = Environment(
        loader=PackageLoader("laydown.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.globals["version"] = __version__
    return templates


def render(template: str, view: Any, *, frame: Frame) -> str:
    """The HTML of a view; its fields are reached through ``view`` in the template, what is around it
    through ``frame``.
    """
    return environment().get_template(template).render(view=view, frame=frame)


def page(request: Request, template: str, view: Any, *, status: int = 200) -> HTMLResponse:
    """A response holding the rendered view."""
    # JSON can hold halves of characters that UTF-8 cannot; a page must not fail over one in a title.
    html = render(template, view, frame=frame_of(request)).encode("utf-8", "replace")
    return HTMLResponse(html, status_code=status)
