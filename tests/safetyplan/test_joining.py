"""The page on which a phone joins, asked as a browser would ask it."""

import re
import shutil
import subprocess
from datetime import UTC, datetime
from ipaddress import ip_address
from pathlib import Path
from typing import Any

import pytest
from cryptography import x509

from safetyplan.joining import Joining, JoinSite, in_characters, picture
from safetyplan.local_network import prepare

JOIN = "http://192.168.1.20:8444/"
RECORDS = "https://192.168.1.20:8443/"
MODULE = 8


@pytest.fixture
def joining(tmp_path: Path) -> Joining:
    """Prepare what a phone is told."""
    made = prepare(tmp_path, [ip_address("192.168.1.20")], "dairy.local", now=datetime.now(UTC))
    return Joining(JOIN, RECORDS, made)


def ask(joining: Joining, path: str, method: str = "GET") -> tuple[str, dict[str, str], bytes]:
    """Ask the site for a path; give status, headers and content."""
    told: list[Any] = []
    environ = {"PATH_INFO": path, "REQUEST_METHOD": method}
    content = b"".join(JoinSite(joining)(environ, lambda status, headers: told.append((status, headers))))
    status, headers = told[0]
    return status, dict(headers), content


def test_the_page_leads_to_the_certificate_and_to_the_records(joining: Joining) -> None:
    status, _headers, content = ask(joining, "/")

    assert status == "200 OK"
    assert 'href="/certificate.crt"' in content.decode()
    assert f'href="{RECORDS}"' in content.decode()


def test_the_certificate_is_the_one_of_the_authority(joining: Joining) -> None:
    _status, headers, content = ask(joining, "/certificate.crt")

    kept = x509.load_pem_x509_certificate(joining.certificates.authority.read_bytes())
    assert headers["Content-Type"] == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(content) == kept


def test_no_private_key_and_no_fingerprint_is_given_out(joining: Joining) -> None:
    for path in ("/", "/certificate.crt", "/join.css", "/network_authority_key.pem", "/../seal_key.pem"):
        _status, _headers, content = ask(joining, path)
        assert b"PRIVATE" not in content
        assert joining.certificates.fingerprint[:8].encode() not in content


def test_any_other_address_leads_to_the_page(joining: Joining) -> None:
    status, headers, _content = ask(joining, "/generate_204")

    assert (status, headers["Location"]) == ("302 Found", "/")


def test_nothing_can_be_sent_to_it(joining: Joining) -> None:
    assert ask(joining, "/", "POST")[0] == "405 Method Not Allowed"


def read_code(rows: list[list[bool]], folder: Path) -> str:
    """Read a QR code with a scanner of its own; dark modules are True."""
    scanner = shutil.which("zbarimg")
    if scanner is None:
        pytest.skip("zbarimg is not installed")
    side = len(rows)
    edge = range(side * MODULE)
    pixels = "".join(("0 " if rows[y // MODULE][x // MODULE] else "1 ") for y in edge for x in edge)
    file = folder / "code.pgm"
    file.write_text(f"P2\n{side * MODULE} {side * MODULE}\n1\n{pixels}")
    done = subprocess.run([scanner, "-q", "--raw", str(file)], capture_output=True, text=True)
    return done.stdout.strip()


def test_a_camera_reads_the_code_of_the_page(tmp_path: Path) -> None:
    side, path = picture(JOIN)
    rows = [[False] * side for _row in range(side)]
    for column, row, length in re.findall(r"M(\d+) (\d+)h(\d+)", path):
        for step in range(int(length)):
            rows[int(row)][int(column) + step] = True

    assert read_code(rows, tmp_path) == JOIN


def test_a_camera_reads_the_code_of_the_terminal(tmp_path: Path) -> None:
    halves = {"█": (False, False), "▀": (False, True), "▄": (True, False), " ": (True, True)}
    rows: list[list[bool]] = []
    for line in in_characters(JOIN).splitlines():
        rows += [[halves[sign][half] for sign in line] for half in (0, 1)]
    side = len(rows[0])

    assert read_code(rows[:side], tmp_path) == JOIN
