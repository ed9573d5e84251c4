"""Serving phones on the dairy's own network: its addresses, and certificates from an authority of its own.

The authority is made once, on this computer, and stays in the data folder; a phone that trusts it takes the
certificate of the server. It can vouch for addresses of local networks and this computer's name only (name
constraints, RFC 5280 section 4.2.1.10): a copied key could not pretend to be any other site.
"""

import ipaddress
import os
import socket
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
AUTHORITY_DAYS = 3650
# Phones refuse server certificates of more than 825 days, also from an authority that a person added.
SERVER_DAYS = 397
RENEW_BEFORE = timedelta(days=30)
PRIVATE = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7")
NAMES = ("local", "home.arpa", "localhost")


@dataclass(frozen=True)
class Certificates:
    """The files with which the server answers over TLS, and the authority that phones have to trust."""

    server: Path
    server_key: Path
    authority: Path
    fingerprint: str


def is_local(address: Address) -> bool:
    """Tell whether an address belongs to a local network: the only ones the authority vouches for."""
    return any(address in ipaddress.ip_network(network) for network in PRIVATE)


def own_addresses() -> list[Address]:
    """Give the addresses by which others on the local network reach this computer, the usual one first.

    The usual one is that of the route outwards; no packet is sent to find it.
    """
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, suppress(OSError):
        probe.connect(("192.0.2.1", 9))
        found.append(probe.getsockname()[0])
    with suppress(OSError):
        rows = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(row[4][0]) for row in rows]
    listed = (ipaddress.ip_address(text) for text in dict.fromkeys(found))
    return [address for address in listed if is_local(address) and not address.is_loopback]


def host_name() -> str:
    """Give this computer's name as the local network knows it, such as dairy.local."""
    name = socket.gethostname().split(".")[0].lower()
    return f"{name}.local" if name and name != "localhost" else "localhost"


def prepare(folder: Path, addresses: Iterable[Address], name: str, *, now: datetime) -> Certificates:
    """Give the certificates for some addresses and a name; made, or made anew, where they are missing.

    The authority is made once. The server's certificate is made again when it names other addresses, or when
    it ends within 30 days.
    """
    paths = {
        key: folder / f"network_{key}.pem" for key in ("authority", "authority_key", "server", "server_key")
    }
    authority, key = _authority(paths["authority"], paths["authority_key"], name, now)
    wanted = _alternative_names(addresses, name)
    if not _still_good(paths["server"], paths["server_key"], authority, wanted, now):
        server, server_key = _issue(authority, key, wanted, name, now)
        _write(paths["server_key"], _private_bytes(server_key))
        _write(paths["server"], server.public_bytes(serialization.Encoding.PEM))
    print_of = authority.fingerprint(hashes.SHA256()).hex()
    return Certificates(paths["server"], paths["server_key"], paths["authority"], print_of)


def spaced(fingerprint: str) -> str:
    """Write a fingerprint in groups of four digits, for comparing by eye."""
    return " ".join(fingerprint[at : at + 4] for at in range(0, len(fingerprint), 4))


def _alternative_names(addresses: Iterable[Address], name: str) -> x509.SubjectAlternativeName:
    every = dict.fromkeys([*addresses, ipaddress.ip_address("127.0.0.1")])
    names = dict.fromkeys((name, "localhost"))
    return x509.SubjectAlternativeName(
        [*(x509.DNSName(text) for text in names), *(x509.IPAddress(address) for address in every)]
    )


def _authority(
    path: Path, key_path: Path, name: str, now: datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    if path.exists() and key_path.exists():
        key = serialization.load_pem_private_key(key_path.read_bytes(), password=None)
        assert isinstance(key, ec.EllipticCurvePrivateKey)
        return x509.load_pem_x509_certificate(path.read_bytes()), key
    key = ec.generate_private_key(ec.SECP256R1())
    said = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Records on {name}"[:64])])
    usage = x509.KeyUsage(
        digital_signature=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=True,
        crl_sign=True,
        encipher_only=False,
        decipher_only=False,
    )
    built = _builder(said, said, key, now, AUTHORITY_DAYS)
    built = built.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    built = built.add_extension(usage, critical=True)
    built = built.add_extension(_constraints(name), critical=True)
    certificate = built.sign(key, hashes.SHA256())
    _write(key_path, _private_bytes(key))
    _write(path, certificate.public_bytes(serialization.Encoding.PEM))
    return certificate, key


def _constraints(name: str) -> x509.NameConstraints:
    networks: Sequence[x509.GeneralName] = [x509.IPAddress(ipaddress.ip_network(text)) for text in PRIVATE]
    names: Sequence[x509.GeneralName] = [x509.DNSName(text) for text in dict.fromkeys((*NAMES, name))]
    return x509.NameConstraints(permitted_subtrees=[*names, *networks], excluded_subtrees=None)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    begun = now.astimezone(UTC) - timedelta(days=1)  # a phone's clock may be behind
    built = x509.CertificateBuilder(subject_name=subject, issuer_name=issuer, public_key=key.public_key())
    built = built.serial_number(x509.random_serial_number())
    built = built.not_valid_before(begun).not_valid_after(begun + timedelta(days=days))
    identifier = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    return built.add_extension(identifier, critical=False)


def _issue(
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    names: x509.SubjectAlternativeName,
    name: str,
    now: datetime,
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:64])])
    built = _builder(subject, authority.subject, key, now, SERVER_DAYS)
    built = built.add_extension(names, critical=False)
    built = built.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    built = built.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
    built = built.add_extension(issuer, critical=False)
    return built.sign(authority_key, hashes.SHA256()), key


def _still_good(
    path: Path,
    key_path: Path,
    authority: x509.Certificate,
    wanted: x509.SubjectAlternativeName,
    now: datetime,
) -> bool:
    if not (path.exists() and key_path.exists()):
        return False
    kept = x509.load_pem_x509_certificate(path.read_bytes())
    try:
        kept.verify_directly_issued_by(authority)
    except (InvalidSignature, ValueError, TypeError):
        return False
    names = kept.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return set(names) == set(wanted) and kept.not_valid_after_utc - now > RENEW_BEFORE


def _private_bytes(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(path: Path, content: bytes) -> None:
    """Write a file that only this user reads, whole or not at all."""
    beside = path.with_suffix(".new")
    beside.unlink(missing_ok=True)
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
