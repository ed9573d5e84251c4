"""The judge in the browser gives the state each row of tests/vectors/judging.json expects.

The same rows test its Python twin, so the two cannot drift apart.
"""

import functools
import json
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
STATIC = ROOT / "safetyplan" / "static"
ROWS: list[dict[str, Any]] = json.loads((ROOT / "tests" / "vectors" / "judging.json").read_text("utf-8"))
JUDGE_ALL = """async (rows) => {
  const { judge } = await import("/js/judge.js");
  return rows.map(({ table, parts, observed_at }) => judge(table, parts, new Date(observed_at)));
}"""

pytestmark = pytest.mark.browser


class QuietFiles(SimpleHTTPRequestHandler):
    """Serve files without writing a line for each."""

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


@pytest.fixture(scope="module")
def static_address() -> Iterator[str]:
    """The address of a server that offers the static files on this computer."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(QuietFiles, directory=str(STATIC)))
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture(scope="module")
def judged(browser: Any, static_address: str) -> list[str]:
    """The state the browser gives for each row."""
    page = browser.new_page()
    page.goto(f"{static_address}/js/judge.js")
    states: list[str] = page.evaluate(JUDGE_ALL, ROWS)
    page.close()
    return states


@pytest.mark.parametrize("number", range(len(ROWS)), ids=[row["why"] for row in ROWS])
def test_the_browser_judges_as_the_row_says(number: int, judged: list[str]) -> None:
    assert judged[number] == ROWS[number]["state"]
