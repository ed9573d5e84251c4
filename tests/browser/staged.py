"""The demonstration as the stage of capture (stage.py), served: the fixture `site` for its tests."""

import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.conftest import MANAGE, ROOT, Site, environment, free_port, made_once, wait_for


@pytest.fixture(scope="module")
def site(told: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """Serve a copy of the demonstration with the plan of the stage."""

    def prepare(folder: Path) -> None:
        shutil.copytree(told, folder)
        words = [sys.executable, "-m", "tests.browser.stage"]
        subprocess.run(words, env=environment(folder), cwd=ROOT, check=True)

    prepared = made_once(tmp_path_factory, "staged", prepare)
    folder = tmp_path_factory.mktemp("stage") / "data"
    shutil.copytree(prepared, folder)
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
