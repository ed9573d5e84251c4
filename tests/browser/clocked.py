"""Serves the second invented dairy with its clock set: run as a program on a data folder that was told.

The file `clock` in the folder holds the instant at which the dairy stood when it was written; from then on
time goes by. The clock's own work (tick) is done at each new instant, as the housekeeping would do it.
"""

import os
import sys
from collections.abc import Callable, Iterable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from wsgiref.types import StartResponse, WSGIEnvironment

CLOCK = "clock"
OPENS = "2027-09-13T05:30:00+01:00"  # Monday of week 37


def set_clock(folder: Path, moment: datetime) -> None:
    """Let the dairy stand at an instant from now on."""
    written = folder / f"{CLOCK}.new"
    written.write_text(moment.astimezone(UTC).isoformat())
    written.replace(folder / CLOCK)


def moment_of(folder: Path) -> datetime:
    """Give the instant at which the dairy stands now."""
    path = folder / CLOCK
    gone = datetime.now(UTC) - datetime.fromtimestamp(path.stat().st_mtime, UTC)
    return datetime.fromisoformat(path.read_text()) + max(gone, timedelta())


def prepare(folder: Path) -> None:
    """Tell the days before, up to the opening of the day."""
    from records.demonstration import ostervane
    from safetyplan.installation import prepare_database, prepare_folder

    prepare_folder()
    prepare_database()
    opens = datetime.fromisoformat(OPENS)
    ostervane.tell(now=opens)
    set_clock(folder, opens)


class Clocked:
    """The application, each request answered at the instant of the dairy."""

    def __init__(self, folder: Path) -> None:
        from django.core.wsgi import get_wsgi_application

        from records.checks.tick import tick
        from safetyplan.integrity.clock import demonstration_clock

        self.folder, self.application = folder, get_wsgi_application()
        self.clock: Callable[..., Any] = demonstration_clock
        self.tick: Callable[..., Any] = tick
        self.ticked = ""

    def __call__(self, environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        """Answer a request."""
        from safetyplan.establishments.models import Establishment

        dairy = Establishment.objects.get(slug="ostervane")
        with self.clock(dairy, moment_of(self.folder)):
            written = (self.folder / CLOCK).read_text()
            if written != self.ticked:
                self.ticked = written
                self.tick(dairy)
            answer = self.application(environ, start_response)
            return answer if hasattr(answer, "file_to_stream") else list(answer)


def serve(folder: Path, port: int) -> None:
    """Serve until the end."""
    from cheroot.wsgi import Server

    Server(("127.0.0.1", port), Clocked(folder), numthreads=8, timeout=30).safe_start()


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "safetyplan.settings")
    import django

    django.setup()
    data = Path(os.environ["SAFETYPLAN_DATA"])
    if len(sys.argv) > 1:
        from safetyplan.installation import prepare_folder

        prepare_folder()
        serve(data, int(sys.argv[1]))
    else:
        prepare(data)
