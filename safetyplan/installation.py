"""An installation: its data folder, its keys, its database, and the server."""

import os
import secrets
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from cheroot.ssl.builtin import BuiltinSSLAdapter
from cheroot.wsgi import Server
from django.conf import settings
from django.core.checks import Tags, run_checks
from django.core.management import call_command
from django.core.management.base import CommandError
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections

from safetyplan.integrity import notes
from safetyplan.joining import Joining, JoinSite
from safetyplan.local_network import Certificates

PAUSE = 60.0


def _write_private(path: Path, text: str) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())


def prepare_folder() -> Path:
    """Make the data folder and its keys where they are missing; keys are readable by this user alone."""
    folder = Path(settings.DATA_FOLDER)
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        secret = folder / "secret_key"
        if not settings.SECRET_KEY_IS_SET:
            if not secret.exists():
                _write_private(secret, secrets.token_urlsafe(50))
            settings.SECRET_KEY = secret.read_text().strip()
            settings.SECRET_KEY_IS_SET = True
        Path(settings.STATIC_ROOT).mkdir(exist_ok=True)
        seal_key = Path(settings.SEAL_KEY_FILE)
        if not seal_key.exists():
            notes.save_private_key(seal_key, notes.new_private_key())
    except OSError as error:
        raise CommandError(f"The data folder {folder} cannot be used: {error.strerror}.") from error
    return folder


def prepare_database() -> None:
    """Bring the database up to date and refuse to go on when anything is wrong with the installation."""
    call_command("migrate", verbosity=0, interactive=False)
    found = run_checks(databases=["default"]) + run_checks(tags=[Tags.database], databases=["default"])
    grave = [message for message in found if message.level >= 30]
    if grave:
        lines = [f"{message.id}: {message.msg} {message.hint or ''}".strip() for message in grave]
        raise CommandError("The installation is not in order.\n" + "\n".join(dict.fromkeys(lines)))


def _housekeeper(work: Callable[[], None], stop: threading.Event) -> None:
    while not stop.wait(PAUSE):
        close_old_connections()
        work()
        close_old_connections()


def _prepared(host: str, port: int, application: Any, certificates: Certificates | None = None) -> Server:
    if not 0 < port < 65536:
        raise CommandError(f"{port} is no port: choose one from 1 to 65535.")
    server = Server((host, port), application, numthreads=8, max=64, timeout=30)
    if certificates is not None:
        server.ssl_adapter = BuiltinSSLAdapter(str(certificates.server), str(certificates.server_key))
    try:
        server.prepare()
    except OSError as error:
        raise CommandError(f"Port {port} on {host} cannot be used: {error}.") from error
    return server


def serve(
    *,
    host: str,
    port: int,
    housekeeping: Callable[[], None],
    say: Callable[[str], object],
    joining: Joining | None = None,
) -> None:
    """Serve until interrupted, with the housekeeping beside.

    joining: serve over TLS with its certificates, and its page without encryption on the next port.
    """
    server = _prepared(host, port, get_wsgi_application(), joining.certificates if joining else None)
    beside = _prepared(host, port + 1, JoinSite(joining)) if joining else None
    stop = threading.Event()
    threading.Thread(target=_housekeeper, args=(housekeeping, stop), daemon=True).start()
    if beside is not None:
        threading.Thread(target=beside.serve, daemon=True).start()
    say(f"Serving on {joining.records_url if joining else f'http://{host}:{port}/'}  (Ctrl+C stops)")
    try:
        server.serve()
    except KeyboardInterrupt:
        say("Stopped.")
    finally:
        stop.set()
        for running in filter(None, (server, beside)):
            running.stop()
