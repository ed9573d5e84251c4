"""The page on which a phone joins: served without encryption, as the phone does not trust this computer yet.

It holds nothing but the certificate of the authority and the way on. The fingerprint stands where the server
was started, not here: whoever could change this page could change it too.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from django.conf import settings
from django.template.loader import render_to_string

from safetyplan.local_network import Certificates
from safetyplan.printing import qr

SIDE_MM = 60.0
Start = Callable[[str, list[tuple[str, str]]], object]
POLICY = "default-src 'self'; object-src 'none'; base-uri 'none'; frame-ancestors 'none'; form-action 'none'"


@dataclass(frozen=True)
class Joining:
    """What a phone is told: where to join, where the records are, and whom it will trust."""

    join_url: str
    records_url: str
    certificates: Certificates


def picture(text: str) -> tuple[int, str]:
    """Give a QR code with its quiet zone as the side and the path of an SVG, one unit to a module."""
    code = qr.symbol(text, SIDE_MM)
    assert code is not None  # an address is short
    at = qr.QUIET_MODULES
    path = "".join(f"M{column + at} {row + at}h{length}v1h-{length}z" for row, column, length in code.runs)
    return code.side + 2 * at, path


def in_characters(text: str) -> str:
    """Give a QR code for a terminal with light letters on dark: two rows of modules to a line."""
    code = qr.symbol(text, SIDE_MM)
    assert code is not None
    side = code.side + 2 * qr.QUIET_MODULES
    dark = {
        (row + qr.QUIET_MODULES, column + qr.QUIET_MODULES + step)
        for row, column, length in code.runs
        for step in range(length)
    }
    shapes = {(False, False): "█", (False, True): "▀", (True, False): "▄", (True, True): " "}
    return "\n".join(
        "".join(shapes[(row, column) in dark, (row + 1, column) in dark] for column in range(side))
        for row in range(0, side, 2)
    )


def page(joining: Joining) -> str:
    """Write the page."""
    side, path = picture(joining.join_url)
    return render_to_string("establishments/join.html", {"joining": joining, "side": side, "path": path})


class JoinSite:
    """The WSGI application that serves the page, its stylesheet and the authority's certificate."""

    def __init__(self, joining: Joining) -> None:
        self.joining = joining

    def __call__(self, environ: dict[str, Any], start: Start) -> Iterable[bytes]:
        """Answer one request; whatever else is asked for leads to the page."""
        path = environ.get("PATH_INFO", "/")
        if environ.get("REQUEST_METHOD") not in ("GET", "HEAD"):
            return self._send(start, "405 Method Not Allowed", "text/plain; charset=utf-8", b"", environ)
        if path == "/":
            content = page(self.joining).encode()
            return self._send(start, "200 OK", "text/html; charset=utf-8", content, environ)
        if path == "/join.css":
            content = (Path(settings.BASE_DIR) / "safetyplan" / "static" / "join.css").read_bytes()
            return self._send(start, "200 OK", "text/css; charset=utf-8", content, environ)
        if path == "/certificate.crt":
            content = self._certificate()
            return self._send(start, "200 OK", "application/x-x509-ca-cert", content, environ)
        start("302 Found", [("Location", "/"), ("Content-Length", "0")])
        return [b""]

    def _certificate(self) -> bytes:
        kept = self.joining.certificates.authority.read_bytes()
        return x509.load_pem_x509_certificate(kept).public_bytes(Encoding.DER)

    @staticmethod
    def _send(
        start: Start, status: str, kind: str, content: bytes, environ: dict[str, Any]
    ) -> Iterable[bytes]:
        headers = [
            ("Content-Type", kind),
            ("Content-Length", str(len(content))),
            ("Content-Security-Policy", POLICY),
            ("X-Content-Type-Options", "nosniff"),
            ("Cache-Control", "no-store"),
        ]
        start(status, headers)
        return [b"" if environ.get("REQUEST_METHOD") == "HEAD" else content]
