"""A server that can be killed, behind a proxy that can be told to fail as networks do.

What the proxy may do with the next requests that match: lose the answer after the server has stored the
record, answer as a portal, a sign-in page, a broken gateway or a busy server does, cut or falsify the answer.
"""

import json
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from http.client import HTTPConnection, HTTPException, HTTPResponse
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from tests.browser.conftest import MANAGE, environment, free_port, wait_for

HTML = "text/html; charset=utf-8"
OWN = {"connection", "transfer-encoding", "content-length", "keep-alive"}
Answer = tuple[int, dict[str, str], bytes]
Fault = Callable[[Answer], Answer | None]


def lost(_answer: Answer) -> Answer | None:
    """Close the connection after the server has answered."""
    return None


def portal(_answer: Answer) -> Answer:
    """Answer 200 with a page, as a captive portal does."""
    return 200, {"Content-Type": HTML}, b"<!doctype html><title>Welcome</title>Please accept our terms."


def to_sign_in(_answer: Answer) -> Answer:
    """Send to a sign-in page."""
    return 302, {"Location": "/sign-in/", "Content-Type": HTML}, b""


def broken_gateway(_answer: Answer) -> Answer:
    """Answer 502 with a page."""
    return 502, {"Content-Type": HTML}, b"<h1>Bad gateway</h1>"


def truncated(answer: Answer) -> Answer:
    """Cut the answer in half; its length then fits what is left."""
    status, headers, body = answer
    return status, headers, body[: len(body) // 2]


def wrong_hash(answer: Answer) -> Answer:
    """Put another hash in the receipt."""
    status, headers, body = answer
    told = json.loads(body)
    if "receipt" in told:
        told["receipt"]["claim_hash"] = "0" * 64
    return status, headers, json.dumps(told).encode()


def refused(status: int, **headers: str) -> Fault:
    """Answer a refusal in the server's own form, without asking the server."""

    def fault(_answer: Answer) -> Answer:
        body = json.dumps({"error": {"message": f"refused with {status}", "part": "", "offers": []}})
        return status, {"Content-Type": "application/json", **headers}, body.encode()

    fault.__dict__["before"] = True
    return fault


for unasked in (portal, to_sign_in, broken_gateway):
    unasked.__dict__["before"] = True


class Proxy(ThreadingHTTPServer):
    """Passes requests on; `fail` says what happens to those that match."""

    daemon_threads = True

    def __init__(self, upstream: int) -> None:
        super().__init__(("127.0.0.1", 0), Passing)
        self.upstream = upstream
        self.rules: list[tuple[Callable[[str, bytes], bool], Fault, list[int]]] = []
        self.seen: list[tuple[str, str]] = []
        self.lock = threading.Lock()

    @property
    def url(self) -> str:
        """Give the address to which browsers go."""
        return f"http://127.0.0.1:{self.server_port}"

    def fail(self, fault: Fault, times: int = 1, path: str = "/claims/", holding: str = "") -> None:
        """Let the next requests to a path (whose body holds a text) meet a fault."""

        def matches(asked: str, body: bytes) -> bool:
            return asked.split("?")[0].endswith(path) and holding.encode() in body

        with self.lock:
            self.rules.append((matches, fault, [times]))

    def cut(self) -> None:
        """Let everything that a device sends meet a broken gateway, until it is mended."""
        for path in ("/claims/", "/claims/line/"):
            self.fail(broken_gateway, times=1_000_000, path=path)

    def mend(self) -> None:
        """Forget every fault."""
        with self.lock:
            self.rules.clear()

    def fault_for(self, path: str, body: bytes) -> Fault | None:
        """Give the fault that a request meets, and count it."""
        with self.lock:
            for matches, fault, left in self.rules:
                if left[0] > 0 and matches(path, body):
                    left[0] -= 1
                    return fault
        return None

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a browser that went away."""


class Passing(BaseHTTPRequestHandler):
    """Passes one request on."""

    protocol_version = "HTTP/1.1"
    server: Proxy

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""

    def _pass(self) -> None:
        length = int(self.headers.get("Content-Length") or 0)
        body = self.rfile.read(length) if length else b""
        self.server.seen.append((self.command, self.path))
        fault = self.server.fault_for(self.path, body)
        answer: Answer | None = (0, {}, b"")
        if fault is None or not getattr(fault, "before", False):
            answer = self._ask(body)
        if answer is not None and fault is not None:
            answer = fault(answer)
        if answer is None:
            self.close_connection = True
            return
        self._answer(answer)

    do_GET = do_POST = do_HEAD = _pass

    def _ask(self, body: bytes) -> Answer | None:
        headers = {k: v for k, v in self.headers.items() if k.lower() not in OWN}
        try:
            line = HTTPConnection("127.0.0.1", self.server.upstream, timeout=30)
            line.request(self.command, self.path, body or None, headers)
            reply: HTTPResponse = line.getresponse()
            told = reply.read()
            self.cookies = reply.headers.get_all("Set-Cookie") or []
            kept = {k: v for k, v in reply.headers.items() if k.lower() not in OWN | {"set-cookie"}}
            line.close()
        except (OSError, HTTPException):
            return None
        return reply.status, kept, told

    def _answer(self, answer: Answer) -> None:
        status, headers, body = answer
        with suppress(OSError):
            self.send_response_only(status)
            for name, value in headers.items():
                self.send_header(name, value)
            for cookie in getattr(self, "cookies", []):
                self.send_header("Set-Cookie", cookie)
            self.cookies = []
            self.send_header("Content-Length", str(len(body)))
            # a browser sends again by itself what met a connection closed after an earlier answer
            self.send_header("Connection", "close")
            self.end_headers()
            if self.command != "HEAD":
                self.wfile.write(body)


class Dairy:
    """A data folder with a server that can be killed and started again, behind the proxy."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.port = free_port()
        self.proxy = Proxy(self.port)
        self.url = self.proxy.url
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start the server and wait until it answers."""
        words = [sys.executable, MANAGE, "demo", "--port", str(self.port)]
        self.process = subprocess.Popen(words, env=environment(self.folder), stdout=subprocess.DEVNULL)
        wait_for(f"http://127.0.0.1:{self.port}/sign-in/")

    def kill(self) -> None:
        """Kill the server; the proxy then closes every connection without an answer."""
        if self.process is not None:
            self.process.kill()
            self.process.wait(timeout=20)
            self.process = None

    def manage(self, *words: str) -> subprocess.CompletedProcess[str]:
        """Run a command on the data."""
        command = [sys.executable, MANAGE, *words]
        return subprocess.run(
            command, env=environment(self.folder), capture_output=True, text=True, check=False
        )

    def ask(self, code: str) -> Any:
        """Run a few lines in the installation's shell; they leave what they found in `found`."""
        lines = (
            "import json, sys\nfrom safetyplan.establishments.models import *\n"
            "from records.checks.models import *\nfrom records.batches.models import *\n"
            "from safetyplan.integrity.models import *\n"
            "dairy = Establishment.objects.get(slug='tarrowby')\n"
            f"{code}\nprint('FOUND' + json.dumps(found))"
        )
        done = self.manage("shell", "--no-imports", "-c", lines)
        assert "FOUND" in done.stdout, done.stdout + done.stderr
        return json.loads(done.stdout.rsplit("FOUND", 1)[1])


@contextmanager
def serving(folder: Path) -> Iterator[Dairy]:
    """Serve a data folder behind the proxy."""
    dairy = Dairy(folder)
    thread = threading.Thread(target=dairy.proxy.serve_forever, daemon=True)
    thread.start()
    try:
        dairy.start()
        yield dairy
    finally:
        dairy.proxy.shutdown()
        dairy.proxy.server_close()
        dairy.kill()
        thread.join(timeout=20)
