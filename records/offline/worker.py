"""The service worker of an establishment: which files it keeps, under a version made of their bytes."""

import hashlib
import json
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.templatetags.static import static

SOURCES = Path(settings.BASE_DIR) / "safetyplan" / "static"
KEPT = ("js/*.js", "style.css", "capture.css", "device.css", "pages-today.css", "icons/*.svg", "icons/*.png")


def kept_files() -> list[Path]:
    """Give the files without which the kept page does not work, in a steady order."""
    return sorted(path for pattern in KEPT for path in SOURCES.glob(pattern))


@lru_cache
def _files_version() -> str:
    digest = hashlib.sha256()
    for path in kept_files():
        digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()


def version_of(page: bytes) -> str:
    """Give the version of the kept files and the kept page: any change of a byte gives another."""
    return hashlib.sha256(_files_version().encode() + page).hexdigest()[:16]


def worker_text(*, page: bytes, page_url: str, plain: bool) -> str:
    """Compose the worker's program; `plain` leaves out what needs modules in workers."""
    names = [static(path.relative_to(SOURCES).as_posix()) for path in kept_files()]
    head = [
        "" if plain else f'import {{ flush }} from "{static("js/outbox.js")}";',
        f"const VERSION = {json.dumps(version_of(page))};",
        f"const KEPT_PAGE = {json.dumps(page_url)};",
        f"const FILES = {json.dumps(names)};",
        "const sendAll = null;" if plain else "const sendAll = flush;",
    ]
    return "\n".join(head) + "\n" + (SOURCES / "worker" / "service-worker.js").read_text("utf-8")
