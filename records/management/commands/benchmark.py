"""manage.py benchmark: speed as ratios against a floor taken in the same run, on a scratch database."""

import gc
import hashlib
import os
import subprocess
import sys
import tempfile
import time
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from records.benchmarks import rows
from records.benchmarks.judging_rows import BAR, READINGS, judging_rows

INSIDE = "SAFETYPLAN_BENCHMARK"
FEW_ENOUGH = 200_000
"""Records up to which everything recorded is verified three times; more take minutes each time."""


def timed(act: Callable[[], object], times: int = 3) -> float:
    """Give the median seconds of an act."""
    taken = []
    for _ in range(times):
        gc.collect()
        begun = time.perf_counter()
        act()
        taken.append(time.perf_counter() - begun)
    return median(taken)


class Command(BaseCommand):
    """Measure and print; the bars are for reading, not for failing a build."""

    help = "Measure the main work as ratios against a floor taken in the same run."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--records", type=int, default=20_000, help="records to build (default 20000)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the command, in a process whose data folder is a scratch one."""
        if options["records"] < 1000:
            raise CommandError("--records must be at least 1000: fewer say nothing.")
        if os.environ.get(INSIDE) != "1":
            self._in_scratch(options["records"])
            return
        self._measure(options["records"])

    def _in_scratch(self, count: int) -> None:
        with tempfile.TemporaryDirectory(prefix="benchmark-") as folder:
            environment = {**os.environ, "SAFETYPLAN_DATA": folder, INSIDE: "1"}
            manage = str(Path(settings.BASE_DIR) / "manage.py")
            done = subprocess.run(
                [sys.executable, manage, "benchmark", "--records", str(count)], env=environment, check=False
            )
        if done.returncode:
            raise CommandError("The measurement stopped early.")

    def _measure(self, count: int) -> None:
        place = rows.build(count)
        self.stdout.write(f"{'work':<52}{'seconds':>9}{'floor':>9}{'ratio':>7}{'bar':>7}")
        self._row("verify the chain alone", lambda: rows.chain(place), lambda: self._hashes(place), 2.0)
        self._row("verify ledger and rows, per 100,000", lambda: rows.verify_all(place), None, None, count)
        small, large = rows.small_and_large(place)
        self._row("day sheet, all records against few", large.day_sheet, small.day_sheet, 2.0)
        self._row("page of today, all records against few", large.today, small.today, 2.0)
        self._row("due list, all records against few", large.due_list, small.due_list, 2.0)
        self._row("record one check, all against few", large.record, small.record, 1.5)
        for row in judging_rows():
            self._row(f"{READINGS:,} readings judged: {row.kind}", row.judge, row.loop, BAR)

    @staticmethod
    def _hashes(place: rows.Place) -> None:
        for body in place.bodies:
            hashlib.sha256(body).digest()

    def _row(
        self,
        name: str,
        act: Callable[[], object],
        floor: Callable[[], object] | None,
        bar: float | None,
        scale: int | None = None,
    ) -> None:
        seconds = timed(act, 3 if scale is None or scale <= FEW_ENOUGH else 1)
        if scale is not None:
            self.stdout.write(f"{name:<52}{seconds * 100_000 / scale:>9.3f}{'':>9}{'':>7}{'< 10 s':>7}")
            return
        base = timed(floor) if floor else 0.0
        self.stdout.write(f"{name:<52}{seconds:>9.3f}{base:>9.3f}{seconds / base:>7.2f}{bar or 0:>7.1f}")
