"""Headers that every answer carries.

There is no header that forces https from now on: the certificate is one of the grower's own, and
a browser told so would refuse this computer's name for good once the certificate is gone, on every
port, even for the plain page that hands out the next one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from starlette.types import Message

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "connect-src 'self'",
        "font-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)

PERMISSIONS = ", ".join(
    (
        "camera=(self)",
        *(
            f"{name}=()"
            for name in (
                "accelerometer", "autoplay", "display-capture", "geolocation",
                "gyroscope", "hid", "magnetometer", "microphone", "midi", "payment",
                "publickey-credentials-get", "serial", "usb",
            )
        ),
    )
)  # fmt: skip

ALWAYS = (
    (b"content-security-policy", CONTENT_POLICY.encode()),
    (b"permissions-policy", PERMISSIONS.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"x-frame-options", b"DENY"),
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)

WHERE_TRUSTED = ((b"cross-origin-opener-policy", b"same-origin"),)
"""Heeded on this computer and over https alone; elsewhere browsers complain of it."""


def with_headers(message: Message, *, shared: bool, trusted: bool, cookies: list[bytes]) -> Message:
    """Return the start of an answer with the headers of every answer.

    A page says nothing of how long it may be kept, so it is not kept; charts and photos say so
    themselves. Built files (``shared``) are kept and asked after each time.

    Raises
    ------
    ValueError
        When a header would break into two: nothing is sent then.
    """
    ours = {name for name, _ in (*ALWAYS, *WHERE_TRUSTED)}
    headers = [
        (name.lower(), value)
        for name, value in message.get("headers", ())
        if name.lower() not in ours
    ]
    names = {name for name, _ in headers}
    if b"cache-control" not in names:
        headers.append((b"cache-control", b"no-cache" if shared else b"no-store"))
    headers += [
        *ALWAYS,
        *(WHERE_TRUSTED if trusted else ()),
        *((b"set-cookie", cookie) for cookie in cookies),
    ]
    if any(mark in part for pair in headers for part in pair for mark in b"\r\n\0"):
        raise ValueError("a header holds a line break")
    return {**message, "headers": headers}
