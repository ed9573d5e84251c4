"""A real server on a real data folder, and a real browser.

The demonstration is told once; each module gets a copy of its data folder and a server of its own.
"""

import os
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.request import urlopen

import pytest

ROOT = Path(__file__).resolve().parents[2]
MANAGE = str(ROOT / "manage.py")
PASSWORD = "goat-milk-and-rennet"  # printed by the demo command
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--use-fake-device-for-media-stream",
]


@dataclass(frozen=True)
class Site:
    """A running server and its data folder."""

    url: str
    folder: Path

    def manage(self, *words: str) -> subprocess.CompletedProcess[str]:
        """Run a command on the site's data."""
        return subprocess.run(
            [sys.executable, MANAGE, *words],
            env=environment(self.folder),
            capture_output=True,
            text=True,
            check=False,
        )


def environment(folder: Path) -> dict[str, str]:
    """Give the environment of an installation in a folder, free of the test run's own settings."""
    kept = {
        k: v
        for k, v in os.environ.items()
        if k not in ("SECRET_KEY", "DATABASE_URL", "DJANGO_SETTINGS_MODULE")
    }
    return {**kept, "SAFETYPLAN_DATA": str(folder)}


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """Let the first process of the test run make a data folder; the others wait until it is there."""
    base = factory.getbasetemp()
    shared = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / name
    folder, ready = shared / "data", shared / "ready"
    try:
        shared.mkdir()
    except FileExistsError:
        for _ in range(1200):
            if ready.exists():
                return folder
            time.sleep(0.25)
        raise TimeoutError(name) from None
    make(folder)
    ready.touch()
    return folder


@pytest.fixture(scope="session")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Tell the demonstration once."""
    words = [sys.executable, MANAGE, "demo", "--no-serve"]
    return made_once(
        tmp_path_factory, "told", lambda folder: subprocess.run(words, env=environment(folder), check=True)
    )


def free_port() -> int:
    """Find a port that is free now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@pytest.fixture(scope="module")
def site(told: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve a copy of the demonstration."""
    folder = tmp_path_factory.mktemp("site") / "data"
    shutil.copytree(told, folder)
    port = free_port()
    words = [sys.executable, MANAGE, "demo", "--port", str(port)]
    server = subprocess.Popen(words, env=environment(folder), stdout=subprocess.DEVNULL)
    url = f"http://127.0.0.1:{port}"
    try:
        wait_for(f"{url}/sign-in/")
        yield Site(url, folder)
    finally:
        server.terminate()
        server.wait(timeout=20)


def wait_for(url: str) -> None:
    """Wait until a page answers, at most a minute."""
    for _ in range(240):
        try:
            urlopen(url, timeout=5).close()
            return
        except (URLError, ConnectionError, TimeoutError):
            time.sleep(0.25)
    raise TimeoutError(url)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Start Debian's Chromium."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        chromium = None
    if chromium is None:
        pytest.skip("needs Playwright and chromium")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium, args=ARGUMENTS)
        yield started
        started.close()


def elsewhere(url: str, home: str) -> bool:
    """Tell whether a request goes to another host (the browser's own PDF viewer is none)."""
    return url.startswith(("http:", "https:", "ws:")) and not url.startswith(home)


@pytest.fixture
def open_page(browser: Any, site: Site) -> Iterator[Callable[..., Any]]:
    """Open a page as a person of the demonstration; requests elsewhere and script errors fail the test."""
    contexts: list[Any] = []
    strange: list[str] = []

    def opened(person: str, width: int = 360, height: int = 740) -> Any:
        context = browser.new_context(viewport={"width": width, "height": height}, base_url=site.url)
        context.set_default_timeout(20_000)
        contexts.append(context)
        page = context.new_page()
        page.on("request", lambda r: strange.append(r.url) if elsewhere(r.url, site.url) else None)
        page.on("pageerror", lambda error: strange.append(str(error)))
        page.on("console", lambda m: strange.append(m.text) if "Content Security Policy" in m.text else None)
        page.goto("/sign-in/")
        page.get_by_label("Sign-in name").fill(person)
        page.get_by_label("Password").fill(PASSWORD)
        page.get_by_role("button", name="Sign in").click()
        page.wait_for_url("**/today/")
        return page

    yield opened
    for context in contexts:
        context.close()
    assert strange == []
