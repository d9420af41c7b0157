"""The page on which a device learns to trust the pages of the shop's own network.

It is served over plain HTTP, since the device trusts nothing here yet; so it holds nothing but
what everybody may know. The fingerprint on the terminal is what makes it safe: whoever changes
this page on the way cannot change that.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import date

import segno
from flask import Flask, Response, render_template, request, send_from_directory
from jinja2 import StrictUndefined

from recondition.resources import resource

_POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
_STATIC = ("site.css", "pair.css", "mark.svg")


@dataclass(frozen=True, slots=True)
class Pairing:
    """What a device is told: where the pages are, and which authority vouches for them.

    ``addresses`` are those of the pages, the one to be used first; ``certificate`` is the
    authority's (DER), ``called`` its name on a device, ``limits`` what it can vouch for.
    """

    addresses: tuple[str, ...]
    certificate: bytes
    fingerprint: str
    called: str
    ends: date
    limits: tuple[str, ...]


def make_pairing(pairing: Pairing) -> Flask:
    """Make the pairing page, its pictures and the certificate to load, and nothing else."""
    app = Flask("recondition.pairing", template_folder=str(resource("templates")),
                static_folder=None)  # fmt: skip
    app.jinja_options = {"autoescape": True, "undefined": StrictUndefined,
                         "trim_blocks": True, "lstrip_blocks": True}  # fmt: skip

    @app.get("/")
    def page() -> str:
        return render_template("web/pair.html.j2", pairing=pairing)

    @app.get("/pair.svg")
    def pages_picture() -> Response:
        return _picture(pairing.addresses[0])

    @app.get("/here.svg")
    def here_picture() -> Response:
        return _picture(request.host_url)

    @app.get("/authority.crt")
    def authority() -> Response:
        answer = Response(pairing.certificate, mimetype="application/x-x509-ca-cert")
        answer.headers["Content-Disposition"] = 'attachment; filename="authority.crt"'
        return answer

    for name in _STATIC:
        app.add_url_rule(f"/static/{name}", name, _static, defaults={"name": name})
    app.after_request(_protect)
    return app


def _static(name: str) -> Response:
    """Give one of the few files that the page looks right with."""
    return send_from_directory(resource("templates") / "web" / "static", name)


def _picture(address: str) -> Response:
    """Draw an address as a QR code (ISO/IEC 18004), dark on light whatever the page's colours."""
    drawn = io.BytesIO()
    segno.make(address, error="m", micro=False).save(
        drawn, kind="svg", scale=8, border=4, dark="#000", light="#fff", nl=False
    )
    return Response(drawn.getvalue(), mimetype="image/svg+xml")


def _protect(answer: Response) -> Response:
    """Put the headers on that keep a page to itself, and out of every store."""
    answer.headers["Content-Security-Policy"] = _POLICY
    answer.headers["X-Content-Type-Options"] = "nosniff"
    answer.headers["Referrer-Policy"] = "no-referrer"
    answer.headers["Cache-Control"] = "no-store"
    return answer
