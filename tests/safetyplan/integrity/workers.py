"""Processes that record at once, or are killed while they record. Run as `python -m …workers TASK …`.

They use the project's own settings; SAFETYPLAN_DATA, SECRET_KEY and DATABASE_URL come from the environment.
"""

import json
import os
import random
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "safetyplan.settings")

MOMENT = "2026-05-14T07:00:00.000Z"


def prepare() -> None:
    """Migrate and open an invented dairy with a plan in force."""
    from django.conf import settings
    from django.core.management import call_command
    from django.db import transaction

    from safetyplan.integrity import notes
    from tests.builders import T0, at, plan_in_force
    from tests.cast import make_cast

    notes.save_private_key(Path(settings.SEAL_KEY_FILE), notes.new_private_key())
    call_command("migrate", verbosity=0)
    with transaction.atomic():
        cast = make_cast()
        with at(cast.dairy, T0.replace(day=13)):
            plan_in_force(cast)


def record_one(dairy: Any, maker: Any) -> str:
    """Record one reading; its UUID is known only after the commit."""
    from records.checks.services import ReadingContent, record_reading
    from tests.builders import T0, at

    slot = f"day:{T0.date().isoformat()}:PRP1:extra"
    parts = [{"name": "temperature", "raw": "3.5", "unit": "", "confirmed": False}]
    with at(dairy, T0):
        content = ReadingContent(slot=slot, observed_at=T0, parts=parts)
        return str(record_reading(establishment=dairy, by=maker, content=content).reading.pk)


def _people() -> tuple[Any, Any]:
    from safetyplan.establishments.models import Establishment, Person

    return Establishment.objects.get(slug="near"), Person.objects.get(username="maker-near")


def _in_child(work: Callable[[], None]) -> int:
    pid = os.fork()
    if pid == 0:
        try:
            work()
        except BaseException as error:
            sys.stderr.write(f"{type(error).__name__}: {error}\n")
            sys.stderr.flush()
            os._exit(1)
        os._exit(0)
    return pid


def _failures(children: list[int]) -> int:
    return sum(os.waitpid(pid, 0)[1] != 0 for pid in children)


def _faults(ledger_size: int) -> dict[str, Any]:
    """Verify what is stored now."""
    from django.db import connection

    from safetyplan.integrity import ledger
    from safetyplan.integrity.models import Entry
    from safetyplan.integrity.verification import verify

    dairy, _maker = _people()
    numbers = list(Entry.objects.of(dairy).order_by("sequence").values_list("sequence", flat=True))
    with connection.cursor() as cursor:
        check = ["ok"]
        if connection.vendor == "sqlite":
            check = [row[0] for row in cursor.execute("PRAGMA integrity_check").fetchall()]
    return {
        "gapless": numbers == list(range(1, len(numbers) + 1)),
        "recorded": ledger.head(dairy)[0] - ledger_size,
        "findings": [found.message for found in verify(dairy)],
        "integrity_check": check,
    }


def _head() -> int:
    from django.db import connection

    from safetyplan.integrity import ledger

    dairy, _maker = _people()
    size = ledger.head(dairy)[0]
    connection.close()  # a connection must not cross a fork
    return size


def contend(writers: int, each: int) -> dict[str, Any]:
    """Let several processes record at once, while one more verifies all the time."""
    before = _head()
    start = time.monotonic() + 1

    def write() -> None:
        time.sleep(max(0, start - time.monotonic()))
        dairy, maker = _people()
        for _number in range(each):
            record_one(dairy, maker)

    def watch(reading: int) -> None:
        from safetyplan.integrity.verification import verify

        dairy, _maker = _people()
        rounds = 0
        while not os.read(reading, 1):
            found = verify(dairy)
            rounds += 1
            assert found == [], f"false alarm: {found}"
            time.sleep(0.2)
        assert rounds > 0

    reading, writing = os.pipe()
    os.set_blocking(reading, False)
    watcher = _in_child(lambda: watch_quietly(watch, reading))
    failed = _failures([_in_child(write) for _number in range(writers)])
    os.write(writing, b"x")
    return {"failed": failed, "false_alarms": _failures([watcher]), **_faults(before)}


def watch_quietly(watch: Callable[[int], None], reading: int) -> None:
    """Call the watcher, with a pipe that says nothing yet read as no bytes."""
    plain = os.read

    def read(descriptor: int, size: int) -> bytes:
        try:
            return plain(descriptor, size)
        except BlockingIOError:
            return b""

    os.read = read
    watch(reading)


def kill(times: int, seed: int) -> dict[str, Any]:
    """Kill a recording process at random moments; compare what it acknowledged with what is stored."""
    from safetyplan.integrity.models import Entry

    before = _head()
    chance = random.Random(seed)
    acknowledged: list[str] = []
    for _number in range(times):
        reading, writing = os.pipe()

        def record(writing: int = writing) -> None:
            dairy, maker = _people()
            while True:
                os.write(writing, record_one(dairy, maker).encode() + b"\n")

        child = _in_child(record)
        os.close(writing)
        with os.fdopen(reading) as lines:
            first = lines.readline()  # the first acknowledgement: it is recording now
            time.sleep(chance.uniform(0, 0.25))
            os.kill(child, signal.SIGKILL)
            os.waitpid(child, 0)
            acknowledged += [first, *lines.readlines()]
    whole = [line.strip() for line in acknowledged if line.endswith("\n")]
    dairy, _maker = _people()
    stored = [str(pk) for pk in Entry.objects.of(dairy).values_list("pk", flat=True)]
    lost = [uuid for uuid in whole if stored.count(uuid) != 1]
    return {"acknowledged": len(whole), "lost": lost, **_faults(before)}


def approve(signers: int) -> dict[str, Any]:
    """Let several processes sign the same draft at once, each with a proof of its own."""
    from django.db import connection

    from safetyplan.establishments.models import Person
    from safetyplan.integrity.refusals import Refused
    from safetyplan.integrity.signatures import prove
    from safetyplan.plans.models import PlanApproved
    from safetyplan.plans.services import approve_plan, revise
    from tests.builders import T0, at
    from tests.cast import PASSWORD

    dairy, _maker = _people()
    owner = Person.objects.get(username="owner-near")
    with at(dairy, T0):
        revision = revise(establishment=dairy, by=owner).revision
    connection.close()
    before = _head()
    start = time.monotonic() + 1

    def sign_it() -> None:
        time.sleep(max(0, start - time.monotonic()))
        with at(dairy, T0):
            proof = prove(establishment=dairy, person=owner, password=PASSWORD)
            try:
                approve_plan(establishment=dairy, proof=proof, revision=revision, reason="Second plan")
            except Refused:
                os._exit(7)

    children = [_in_child(sign_it) for _number in range(signers)]
    codes = sorted(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) for pid in children)
    versions = PlanApproved.objects.of(dairy).count()
    return {"codes": codes, "versions": versions, **_faults(before)}


def main(words: list[str]) -> None:
    """Run a task and print what came of it as JSON."""
    import django

    django.setup()
    tasks: dict[str, Callable[..., Any]] = {
        "prepare": prepare,
        "contend": contend,
        "kill": kill,
        "approve": approve,
    }
    found = tasks[words[0]](*map(int, words[1:]))
    sys.stdout.write(json.dumps(found) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
