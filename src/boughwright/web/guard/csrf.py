"""Whether a changing request was meant by who sends it, or forged by a page elsewhere.

Three proofs are asked. What the browser says of where the request comes from must not speak
against it. Browsers say that on secure origins alone, so a token of our own is asked as well: the
form field ``csrf``, which comes first in a form with files, or the header ``x-csrf``. Only a JSON
body to the API, which no plain form can send, needs none when the browser itself vouches for it.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import unquote_to_bytes

from boughwright.web.guard.bodies import MULTIPART, URLENCODED, media_type
from boughwright.web.guard.faults import Refused
from boughwright.web.guard.options import MOST_FIELDS

if TYPE_CHECKING:
    from starlette.datastructures import Headers

    from boughwright.web.guard.bodies import Body
    from boughwright.web.guard.seats import Seats

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
FIELD, HEADER = "csrf", "x-csrf"
FIRST_BYTES = 8_192
"""The token stands within so many bytes of a form with files. [bytes]"""


def check_origin(headers: Headers, own: str) -> None:
    """Refuse a request that the browser says another page sent.

    Raises
    ------
    Refused
    """
    site = headers.get("sec-fetch-site")
    if site is not None and site not in ("same-origin", "none"):
        raise Refused("cross-site")
    origin = headers.get("origin")
    if origin is not None and origin.lower() != own:
        raise Refused("cross-site")


def vouched_for(headers: Headers, path: str) -> bool:
    """Tell whether the browser vouches for a JSON request to the API."""
    return (
        path.startswith("/api/")
        and media_type(headers.get("content-type", "")) == "application/json"
        and headers.get("sec-fetch-site") == "same-origin"
    )


async def check_token(
    headers: Headers, body: Body, boundary: bytes | None, *, seats: Seats, seat: str
) -> None:
    """Refuse a request without a token of this sender.

    Raises
    ------
    Refused
    """
    given = headers.get(HEADER)
    if given is None:
        given = await _in_body(headers, body, boundary)
    if not given or not seats.token_holds(seat, given):
        raise Refused("stale-page")


async def _in_body(headers: Headers, body: Body, boundary: bytes | None) -> str | None:
    kind = media_type(headers.get("content-type", ""))
    if kind == URLENCODED:
        return _from_fields(await body.begin(1 << 30))  # the body's own limit ends it
    if kind == MULTIPART and boundary is not None:
        part = re.compile(
            re.escape(boundary)
            + rb'\r\ncontent-disposition:[ ]*form-data;[ ]*name="?csrf"?[ ]*\r\n\r\n'
            + rb"([\w=-]{1,200})\r\n"
            + re.escape(boundary),
            re.IGNORECASE,
        )
        found = part.match(await body.begin(FIRST_BYTES, part))
        return found[1].decode("ascii") if found else None
    return None


def _from_fields(text: bytes) -> str | None:
    if text.count(b"&") >= MOST_FIELDS:
        raise Refused("too-many-fields")
    head = f"{FIELD}=".encode()
    given = [field[len(head) :] for field in text.split(b"&") if field.startswith(head)]
    if len(given) != 1:
        return None
    return unquote_to_bytes(given[0].replace(b"+", b" ")).decode("ascii", "replace")
