"""Serving: on this computer alone, or over TLS for the phones of the dairy's network."""

import ipaddress
import os
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError

from records.checks import housekeeping
from safetyplan import local_network
from safetyplan.installation import serve
from safetyplan.joining import Joining, in_characters
from safetyplan.local_network import Address, spaced

Say = Callable[[str], object]


def add_serving(parser: ArgumentParser) -> None:
    """Declare the arguments of serving."""
    parser.add_argument("--no-serve", action="store_true", help="stop before serving")
    parser.add_argument(
        "--lan",
        action="store_true",
        help="serve over HTTPS for the phones on the dairy's network, and show how a phone joins",
    )
    parser.add_argument("--host", help="address to serve on (default: this computer only; with --lan, all)")
    parser.add_argument("--port", type=int, help="port to serve on (default: 8000; with --lan, 8443)")


def addresses(options: dict[str, Any]) -> list[Address]:
    """Give the addresses at which phones reach this computer; one named on the command line counts alone."""
    named = options["host"]
    if named is None:
        found = local_network.own_addresses()
        if not found:
            raise CommandError("This computer is in no local network. Join one, or name its address: --host.")
        return found
    try:
        address = ipaddress.ip_address(named)
    except ValueError as error:
        raise CommandError(f"{named!r} is no address: write it like 192.168.1.20.") from error
    if not local_network.is_local(address):
        raise CommandError(f"{named} is no address of a local network: --lan serves the dairy's own only.")
    return [address]


def port_of(options: dict[str, Any]) -> int:
    """Give the port to serve on."""
    return int(options["port"] or (8443 if options["lan"] else 8000))


def base_url(options: dict[str, Any]) -> str:
    """Give the address under which the records are served, without a slash at its end."""
    if options["lan"]:
        return f"https://{addresses(options)[0]}:{port_of(options)}"
    return f"http://{options['host'] or '127.0.0.1'}:{port_of(options)}"


def begin_again_over_tls(options: dict[str, Any]) -> None:
    """Start this command again with the switch of HTTPS on, which every cookie and header follows."""
    if not options["lan"] or settings.HTTPS:
        return
    hosts = [str(address) for address in addresses(options)]
    names = [*hosts, local_network.host_name(), "localhost", "127.0.0.1"]
    changed = {**os.environ, "SAFETYPLAN_HTTPS": "1", "ALLOWED_HOSTS": ",".join(dict.fromkeys(names))}
    sys.stdout.flush()
    os.execve(sys.executable, [sys.executable, *sys.argv], changed)


def serve_as_told(folder: Path, options: dict[str, Any], say: Say) -> None:
    """Serve as the command line says."""
    if options["no_serve"]:
        return
    port = port_of(options)
    if not options["lan"]:
        host = options["host"] or "127.0.0.1"
        serve(host=host, port=port, housekeeping=housekeeping.run, say=say)
        return
    joining = join(folder, options)
    tell(joining, say)
    host = options["host"] or "0.0.0.0"
    serve(host=host, port=port, housekeeping=housekeeping.run, say=say, joining=joining)


def join(folder: Path, options: dict[str, Any]) -> Joining:
    """Prepare the certificates, and say where a phone joins."""
    found, name = addresses(options), local_network.host_name()
    certificates = local_network.prepare(folder, found, name, now=datetime.now(UTC))
    join_url = f"http://{found[0]}:{port_of(options) + 1}/"
    return Joining(join_url, f"{base_url(options)}/", certificates)


def tell(joining: Joining, say: Say) -> None:
    """Show how a phone joins."""
    say("A phone on this network joins here; point its camera at the code:")
    say(in_characters(joining.join_url))
    say(f"  {joining.join_url}")
    say("There it gets the certificate of this computer. Its fingerprint (SHA-256) on the phone must be:")
    say(f"  {spaced(joining.certificates.fingerprint)}")
