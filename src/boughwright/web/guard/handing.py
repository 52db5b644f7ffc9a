"""The one thing that is handed out over plain http beside https: the certificate to install.

It is public. Who changed it on the way would hand out another one, so the page asks to compare
its fingerprint with the one that the computer shows.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.responses import HTMLResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from boughwright.web.guard.certificates import as_der, fingerprint
from boughwright.web.guard.faults import fault_of, plain_answer
from boughwright.web.guard.layer import Guard
from boughwright.web.guard.options import Listening
from boughwright.web.guard.plain import plain_page

if TYPE_CHECKING:
    from starlette.requests import Request

    from boughwright.web.guard.options import GuardOptions

_BUILT = Path(__file__).parents[1] / "static" / "dist"
DER_TYPE = "application/x-x509-ca-cert"
PEM_TYPE = "application/x-pem-file"


def certificate_app(options: GuardOptions, certificate: bytes, port: int) -> Starlette:
    """Return the app that hands out the certificate, and nothing else but how a page looks.

    Parameters
    ----------
    options : GuardOptions
        Those of the server; names and limits are taken over.
    certificate : bytes
        The authority's, as PEM.
    port : int
        Where the app listens.
    """

    def page(request: Request) -> Response:
        return HTMLResponse(
            plain_page(request, "devices/certificate.html", fingerprint=fingerprint(certificate))
        )

    def der(_: Request) -> Response:
        return _file(as_der(certificate), DER_TYPE, "boughwright.crt")

    def pem(_: Request) -> Response:
        return _file(certificate, PEM_TYPE, "boughwright.pem")

    def missing(request: Request, _: Exception) -> Response:
        return plain_answer(request, fault_of("missing"))

    doors = (Listening("http", port, lan=True),)
    return Starlette(
        routes=[
            Route("/", page),
            Route("/boughwright.crt", der),
            Route("/boughwright.pem", pem),
            Mount("/static/dist", StaticFiles(directory=_BUILT, check_dir=False)),
        ],
        middleware=[Middleware(Guard, options=replace(options, doors=doors, open_paths=("*",)))],
        exception_handlers={404: missing},
    )


def _file(data: bytes, kind: str, name: str) -> Response:
    return Response(
        data, media_type=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )
