"""Bare pages for those who may see nothing of the book: refusals, and how to pair.

They know no tree and no setting; their language is the one the browser asks for.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape

from boughwright.web.speech import LANGUAGES, SOURCE, Speaker

if TYPE_CHECKING:
    from starlette.requests import Request

_TEMPLATES = Path(__file__).parents[1] / "templates"
_MOST_ASKED = 10


@cache
def _pages() -> Environment:
    return Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=select_autoescape(default_for_string=True, default=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def language_of(header: str) -> str:
    """Return the language of ours that an Accept-Language header asks for first."""
    for asked in header.split(",")[:_MOST_ASKED]:
        language = asked.partition(";")[0].strip().lower().partition("-")[0]
        if language in LANGUAGES:
            return language
    return SOURCE


def plain_page(request: Request, template: str, **context: object) -> str:
    """Return a bare page.

    Parameters
    ----------
    request : Request
    template : str
        Path below ``templates``.
    context
        What the template needs.
    """
    words = Speaker(language=language_of(request.headers.get("accept-language", "")))
    return _pages().get_template(template).render(
        t=words.t, say=words.say, lang=words.language,
        csrf=getattr(request.state, "csrf", ""), **context,
    )  # fmt: skip
