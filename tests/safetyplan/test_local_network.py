"""Phones on the dairy's network: certificates that hold, and an authority that can vouch for nothing else.

The certificates are checked by the standard library and by the `openssl` command, not by ourselves.
Rules: RFC 5280 (name constraints, 4.2.1.10); at most 825 days for a server, as phones demand (from memory).
"""

import ipaddress
import shutil
import socket
import ssl
import stat
import subprocess
import threading
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from safetyplan import local_network
from safetyplan.local_network import Certificates, prepare

NOW = datetime(2026, 9, 7, 5, 30, tzinfo=UTC)
DAIRY = [ipaddress.ip_address("192.168.1.20")]


@pytest.fixture
def made(tmp_path: Path) -> Certificates:
    """Make the certificates of a dairy's computer, as of now."""
    return prepare(tmp_path, DAIRY, "dairy.local", now=datetime.now(UTC))


@pytest.fixture
def port(made: Certificates) -> Iterator[int]:
    """Serve with them."""

    def answer(environ: dict[str, object], start: object) -> list[bytes]:
        start("200 OK", [("Content-Type", "text/plain")])  # type: ignore[operator]
        return [b"here"]

    server = Server(("127.0.0.1", 0), answer, numthreads=1)
    server.ssl_adapter = BuiltinSSLAdapter(str(made.server), str(made.server_key))
    server.prepare()
    running = threading.Thread(target=server.serve, daemon=True)
    running.start()
    yield server.bind_addr[1]
    server.stop()
    running.join(5)


def shake_hands(port: int, made: Certificates, name: str, *, trusting: bool = True) -> str | None:
    """Open a connection as a phone does that asks for a name; give the version of TLS."""
    context = ssl.create_default_context(cafile=str(made.authority) if trusting else None)
    with (
        socket.create_connection(("127.0.0.1", port), timeout=5) as plain,
        context.wrap_socket(plain, server_hostname=name) as secure,
    ):
        return secure.version()


@pytest.mark.parametrize("name", ["192.168.1.20", "dairy.local", "localhost", "127.0.0.1"])
def test_a_phone_that_trusts_the_authority_takes_each_name_of_the_computer(
    port: int, made: Certificates, name: str
) -> None:
    assert shake_hands(port, made, name) in ("TLSv1.2", "TLSv1.3")


def test_a_phone_that_does_not_trust_it_is_warned(port: int, made: Certificates) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(port, made, "dairy.local", trusting=False)


def test_another_computer_of_the_network_cannot_answer_with_it(port: int, made: Certificates) -> None:
    with pytest.raises(ssl.SSLCertVerificationError):
        shake_hands(port, made, "192.168.1.21")


@pytest.mark.parametrize(
    ("names", "accepted"),
    [
        ([x509.DNSName("bank.example")], False),
        ([x509.IPAddress(ipaddress.ip_address("203.0.113.7"))], False),
        ([x509.DNSName("dairy.local"), x509.IPAddress(ipaddress.ip_address("10.1.2.3"))], True),
    ],
)
def test_a_stolen_authority_can_vouch_for_local_names_only(
    tmp_path: Path, names: list[x509.GeneralName], accepted: bool
) -> None:
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("openssl is not installed")
    now = datetime.now(UTC)
    made = prepare(tmp_path, DAIRY, "dairy.local", now=now)
    paths = made.authority, tmp_path / "network_authority_key.pem"
    authority, key = local_network._authority(*paths, "dairy.local", now)
    forged, _key = local_network._issue(
        authority, key, x509.SubjectAlternativeName(names), "dairy.local", now
    )
    file = tmp_path / "forged.pem"
    local_network._write(file, forged.public_bytes(local_network.serialization.Encoding.PEM))

    done = subprocess.run(
        [openssl, "verify", "-x509_strict", "-CAfile", str(made.authority), str(file)], capture_output=True
    )

    assert (done.returncode == 0) is accepted, done.stderr


def test_the_keys_are_readable_by_this_user_alone(made: Certificates) -> None:
    for path in made.authority.parent.glob("network_*.pem"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_the_fingerprint_is_the_one_phones_show(made: Certificates) -> None:
    kept = x509.load_pem_x509_certificate(made.authority.read_bytes())

    assert made.fingerprint == kept.fingerprint(hashes.SHA256()).hex()


def test_the_server_is_valid_for_less_than_phones_allow(made: Certificates) -> None:
    kept = x509.load_pem_x509_certificate(made.server.read_bytes())

    assert kept.not_valid_after_utc - kept.not_valid_before_utc <= timedelta(days=825)


def server_of(folder: Path, addresses: list[local_network.Address], now: datetime) -> bytes:
    """Prepare the folder again and give the server's certificate."""
    return prepare(folder, addresses, "dairy.local", now=now).server.read_bytes()


def test_a_certificate_that_still_holds_is_kept(tmp_path: Path) -> None:
    first = server_of(tmp_path, DAIRY, NOW)

    assert server_of(tmp_path, DAIRY, NOW + timedelta(days=300)) == first


def test_a_certificate_near_its_end_is_made_again(tmp_path: Path) -> None:
    first = server_of(tmp_path, DAIRY, NOW)

    assert server_of(tmp_path, DAIRY, NOW + timedelta(days=370)) != first


def test_another_address_gets_another_certificate_of_the_same_authority(tmp_path: Path) -> None:
    first = server_of(tmp_path, DAIRY, NOW)
    authority = (tmp_path / "network_authority.pem").read_bytes()

    assert server_of(tmp_path, [ipaddress.ip_address("192.168.1.33")], NOW) != first
    assert (tmp_path / "network_authority.pem").read_bytes() == authority


@pytest.mark.parametrize("text", ["192.168.1.20", "10.0.0.4", "172.31.0.9", "fd12::5"])
def test_an_address_of_a_local_network_is_local(text: str) -> None:
    assert local_network.is_local(ipaddress.ip_address(text))


@pytest.mark.parametrize("text", ["203.0.113.7", "172.32.0.1", "2001:db8::1"])
def test_an_address_of_the_wide_world_is_not(text: str) -> None:
    assert not local_network.is_local(ipaddress.ip_address(text))
