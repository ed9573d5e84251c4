"""Settings of the test run: the project's own, with secrets that exist only for the tests."""

import os
import tempfile

os.environ.setdefault("SECRET_KEY", "only-for-the-tests-0123456789-abcdefghijklmnopqrstuvwxyz")
if "SAFETYPLAN_DATA" not in os.environ or "PYTEST_XDIST_WORKER" in os.environ:
    os.environ["SAFETYPLAN_DATA"] = tempfile.mkdtemp(prefix="safetyplan-tests-")  # one for each process
# The browser's driver leaves an event loop running beside tests of the same process.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

from safetyplan.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # noqa: F405 - the server of static files warns without it
