"""Walks a day of the second invented dairy, as it is written in the fixtures: its clock, devices and places.

What is done on each screen is in screens.py, how a page is filled in filling.py.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from tests.browser.clocked import OPENS, set_clock
from tests.browser.going import asked, go
from tests.browser.turns import turn_to

SLUG = "/ostervane"
ZONE = ZoneInfo("Europe/London")
DAY = datetime.fromisoformat(OPENS).date()
PASSWORD = "brine-and-blue-mould"  # printed by the demo command
UNSENT = """async () => (await (await import("/static/js/outbox.js")).all())
  .filter(({ state }) => state !== "received")
  .map(({ claim, state, refusal }) => [claim.kind, state, refusal])"""
SETTLED = f"async () => (await ({UNSENT})()).length === 0"
IDLE = "async () => navigator.locks.request('safetyplan-outbox', () => true)"
Step = Mapping[str, Any]


@dataclass
class Device:
    """A page of a browser, on a device of its own; people: who has a PIN on it."""

    page: Any
    person: str = ""
    pins: dict[str, str] = field(default_factory=dict)
    links: list[tuple[str, str]] = field(default_factory=list)
    under_way: set[Any] = field(default_factory=set)
    fetched: bool = False

    def __post_init__(self) -> None:
        """Follow what is asked of the server."""
        self.page.on("request", lambda request: self.under_way.add(request))
        for ends in ("requestfinished", "requestfailed"):
            self.page.on(ends, lambda request: self.ended(request))

    def ended(self, request: Any) -> None:
        """Note that a request is over, and whether the page still keeps what it brought."""
        self.under_way.discard(request)
        self.fetched = self.fetched or request.url.endswith("/bundle/")

    def settle(self) -> None:
        """Wait until nothing is under way; one that is would take a jump of the clock for a fault of it."""
        for _ in range(250):
            if not self.under_way:
                break
            self.page.wait_for_timeout(30)
        if self.fetched:
            self.fetched = False
            self.page.wait_for_timeout(300)
        if self.person:
            asked(self.page, IDLE)


@dataclass
class Walk:
    """The dairy's folder, its devices, and where everything is that the day has made so far."""

    folder: Path
    devices: dict[str, Device]
    screens: Mapping[str, "Screen"]
    places: dict[str, str] = field(default_factory=dict)
    seen: Callable[[str, Any], None] = lambda _name, _page: None

    def play(self, step: Step) -> None:
        """Do one step of the day on its device."""
        self.stand(step["at"], step.get("day", 0))
        device = self.devices[step["on"]]
        if step.get("by") and step["by"] != device.person:
            self.turn(device, step["by"])
        try:
            self.screens[step["screen"]](self, device, step)
        except Exception as error:
            raise AssertionError(f"{json.dumps(dict(step))[:300]} at {device.page.url}") from error
        if step.get("look"):
            self.seen(step["look"], device.page)

    def stand(self, at: str, day: int) -> None:
        """Set the clock of the dairy and of its devices."""
        moment = datetime.combine(DAY + timedelta(days=day), time.fromisoformat(at), tzinfo=ZONE)
        if self.places.get("now") == moment.isoformat():
            return
        self.places["now"] = moment.isoformat()
        for device in self.devices.values():
            device.settle()
        set_clock(self.folder, moment)
        for device in self.devices.values():
            device.page.context.clock.set_system_time(moment)

    def turn(self, device: Device, person: str) -> None:
        """Let somebody take the turn on a shared device, by tile and PIN."""
        go(device.page, f"{SLUG}/today/")
        turn_to(device.page, person.title(), device.pins[person])
        device.person = person

    def find(self, device: Device, words: str) -> str:
        """Find where a link of Today leads by words of its text; Today is read anew where it must be."""
        for anew in (False, True):
            if anew:
                self.look(device)
            for text, href in device.links:
                if text == words or (" " in words and all(one in text for one in words.split(" .. "))):
                    return href
        raise AssertionError(f"Today has no link {words!r}")

    def look(self, device: Device) -> None:
        """Read the links of Today."""
        go(device.page, f"{SLUG}/today/")
        device.links = device.page.locator("main a").evaluate_all(
            "all => all.map(a => [a.textContent.replace(/\\s+/g, ' ').trim(), a.getAttribute('href')])"
        )

    def place(self, name: str, device: Device) -> str:
        """Give the address of something of the day, of a shared thing by its code, or of a lot on Today."""
        if name.startswith("thing:"):
            go(device.page, f"{SLUG}/things/")
            link = device.page.locator("a.thing", has_text=name.removeprefix("thing:")).first
            return str(link.get_attribute("href"))
        return self.places.get(name) or self.find(device, name)


Screen = Callable[[Walk, Device, Step], None]
