"""The outbox against a network that fails: nothing lost, nothing stored twice, only a receipt counts.

The faults are those of networks in the field: a lost answer after the record was stored, a captive portal,
a sign-in page, a broken gateway, an answer cut short or falsified, an expired session, a busy server.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from records.checks.slots import day_slot_id
from records.demonstration.tarrowby import DETAILS
from tests.browser import faults
from tests.browser.conftest import PASSWORD
from tests.browser.faults import Dairy, serving
from tests.browser.queueing import (
    CLOCK_OFF,
    DISK_FULL,
    FLUSH,
    OTHER_PAST,
    PEOPLE,
    STORED,
    beside,
    flush,
    made_ready,
    queue,
    sign_in,
    states,
)
from tests.browser.test_main_job import expect

pytestmark = pytest.mark.browser
SOAK = os.environ.get("SOAK") == "1"
ALWAYS = 1_000_000  # more often than any test asks
MANY = 500 if SOAK else 24
KILLS = 100 if SOAK else 3
DAY = 86_400_000
SECOND_MAKER = (
    "from safetyplan.establishments.services import add_person, MemberSpec\n"
    "add_person(establishment=dairy, by=Person.objects.get(username='josse'), username='wren',"
    f" password='{PASSWORD}', member=MemberSpec('Wren Hollin', 'WH', (Role.MAKER,)))\nfound = 1"
)
FAULTS = {
    "the answer is lost after the record was stored": faults.lost,
    "a captive portal answers 200": faults.portal,
    "a sign-in page is sent to": faults.to_sign_in,
    "a gateway answers 502": faults.broken_gateway,
    "the answer is cut short": faults.truncated,
    "the receipt names another hash": faults.wrong_hash,
    "the session has expired": faults.refused(401),
    "the person may not": faults.refused(403),
    "the server is busy": faults.refused(503, **{"Retry-After": "1"}),
}


@pytest.fixture(scope="module")
def dairy(told: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Dairy]:
    """A copy of the demonstration, served behind the proxy."""
    folder = tmp_path_factory.mktemp("offline") / "data"
    shutil.copytree(told, folder)
    with serving(folder) as running:
        running.ask(SECOND_MAKER)
        yield running


@pytest.fixture
def at_work(browser: Any, dairy: Dairy) -> Iterator[Callable[..., Any]]:
    """Open the page of today as a person, on a device of their own."""
    contexts: list[Any] = []

    def opened(person: str = "mirren", script: str = "") -> Any:
        context = browser.new_context(viewport={"width": 360, "height": 740}, base_url=dairy.url)
        context.set_default_timeout(30_000)
        contexts.append(context)
        if script:
            context.add_init_script(script)
        page = context.new_page()
        sign_in(page, person)
        return page

    yield opened
    dairy.proxy.mend()
    for context in contexts:
        context.close()


def begin(page: Any) -> None:
    """Open an additional reading of the cold store: it can be recorded at any time, and again."""
    # not by its line on Today: in the evening the demonstration has made every check of the day
    day = datetime.now(ZoneInfo(DETAILS.time_zone)).date()
    page.goto(f"/tarrowby/checks/{day_slot_id(day, 'PRP1', 'extra')}/")


def record(page: Any, value: str = "3.8") -> None:
    """Type a value on the page's keypad and save it."""
    for key in value:
        page.get_by_role("button", name="Decimal mark" if key == "." else key, exact=True).click()
    page.wait_for_timeout(550)  # a tap just after a key counts as the same burst
    page.get_by_role("button", name="Save", exact=True).click()


def stored_of(dairy: Dairy, made: list[list[str]]) -> list[list[str]]:
    """Give what the server stored of the records made, in its own order."""
    uuids = {uuid for uuid, _author, _at in made}
    return [row for row in dairy.ask(STORED) if row[0] in uuids]


def test_a_record_stays_on_the_device_through_every_fault_and_is_stored_once(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    desk = beside(at_work())
    shown = {}

    for why, fault in FAULTS.items():
        page = desk.context.new_page()
        begin(page)
        dairy.proxy.fail(fault, times=ALWAYS)  # other pages of the device send too
        record(page)
        expect(page.locator("#result")).to_contain_text("Saved on this device")
        shown[why] = page.locator("#result").inner_text()
        page.close()
        assert states(desk)[-1]["state"] in ("sending", "aside", "held"), why
        dairy.proxy.mend()
        desk.wait_for_timeout(1100)
        flush(desk)
        assert states(desk)[-1]["state"] == "received", why

    made = [[row["uuid"], row["person"], row["captured_at"]] for row in states(desk)]
    assert "refused with 401" in shown["the session has expired"]
    assert stored_of(dairy, made) == made


def test_a_queue_of_two_people_arrives_whole_once_and_in_order_with_two_tabs_sending(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    page = at_work("mirren")
    made_ready(page)
    page.context.clear_cookies()
    sign_in(page, "wren")  # a second person on the same device
    people = page.evaluate(PEOPLE)
    dairy.proxy.cut()
    made = []
    for number in range(MANY // 4):
        made += queue(page, 4, person=people[number % 2])
    dairy.proxy.mend()
    dairy.proxy.fail(faults.lost, times=MANY // 3)
    page.context.clear_cookies()  # the session ends: the author is who signed, not whose session sends

    tabs = [beside(page), beside(page)]
    for tab in tabs:
        tab.evaluate(f"() => {{ globalThis.done = ({FLUSH})(); }}")
    for tab in tabs:
        tab.evaluate("() => globalThis.done")
    for _again in range(3):
        flush(tabs[0])

    assert {row["state"] for row in states(tabs[0])} == {"received"}
    assert sorted(stored_of(dairy, made)) == sorted(made)
    assert len({person for _uuid, person, _at in made}) == 2


def test_a_record_that_is_refused_waits_for_a_person_and_blocks_no_other(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    page = at_work()
    made_ready(page)
    dairy.proxy.cut()
    [poisoned], rest = queue(page, 1), queue(page, 6)
    dairy.proxy.mend()
    dairy.proxy.fail(faults.refused(422), times=1, holding=poisoned[0])

    flush(beside(page))

    assert [row["state"] for row in states(page)] == ["refused", *["received"] * 6]
    assert stored_of(dairy, [poisoned, *rest]) == rest
    page.goto("/tarrowby/device/")
    expect(page.get_by_role("heading", name="To look at: 1")).to_be_visible()
    expect(page.get_by_text("refused with 422")).to_be_visible()
    expect(page.locator("#device-bar")).to_contain_text("1 to look at")
    page.get_by_role("button", name="Send it again as it is").click()
    expect(page.get_by_text("Received: 7")).to_be_visible()


@pytest.mark.parametrize("days", [-1, 1])
def test_a_clock_off_by_a_day_is_noted_and_the_record_keeps_its_real_time(
    at_work: Callable[..., Any], dairy: Dairy, days: int
) -> None:
    page = at_work(script=CLOCK_OFF.replace("SHIFT", str(days * DAY)))
    made_ready(page)
    made = queue(page, 1)
    flush(beside(page))

    assert states(page)[0]["state"] == "received"
    assert stored_of(dairy, made) == made  # the device's own time stays in the claim
    noted, apart = dairy.ask(
        f"r = Reading.objects.of(dairy).get(pk='{made[0][0]}')\n"
        "n = ClockNoted.objects.of(dairy).get(about=r.pk)\n"
        "found = [n.skew_seconds, abs((r.recorded_at - r.observed_at).total_seconds())]"
    )
    assert noted == pytest.approx(-days * 86400, abs=60)
    assert apart < 60


def test_a_full_disk_says_not_saved_and_keeps_what_was_typed(at_work: Callable[..., Any]) -> None:
    page = at_work(script=DISK_FULL)
    begin(page)

    record(page, "3.7")

    expect(page.get_by_role("heading", name="NOT saved")).to_be_visible()
    expect(page.locator("#part-0")).to_have_value("3.7")
    assert states(page) == []


def test_signing_out_takes_nothing_from_the_device(at_work: Callable[..., Any], dairy: Dairy) -> None:
    page = at_work()
    made_ready(page)
    dairy.proxy.fail(faults.refused(401), times=ALWAYS)
    made = queue(page, 2)
    page.goto("/tarrowby/today/")
    expect(page.locator("#device-bar")).to_contain_text("2 not sent yet")

    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url("**/sign-in/**")

    assert [row["uuid"] for row in states(page)] == [uuid for uuid, _author, _at in made]


def test_what_is_said_to_be_saved_is_there_after_the_page_is_killed(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    page = at_work()
    made_ready(page)
    desk = beside(page)
    page.close()
    dairy.proxy.cut()

    for number in range(KILLS):
        page = desk.context.new_page()
        page.goto("/tarrowby/today/")
        begin(page)
        record(page)
        expect(page.locator("#result, #save").filter(has_text="Saved on this device").first).to_be_visible()
        page.close(run_before_unload=False)
        assert len(states(desk)) == number + 1
    dairy.proxy.mend()
    flush(desk)
    flush(desk)

    assert {row["state"] for row in states(desk)} == {"received"}


def test_a_seal_that_does_not_continue_the_kept_one_sounds_an_alarm_until_it_is_seen(
    at_work: Callable[..., Any], dairy: Dairy
) -> None:
    page = at_work()
    made_ready(page)
    expect(page.locator("#seal-alarm")).to_be_hidden()
    page.evaluate(OTHER_PAST)

    page.goto("/tarrowby/today/")
    alarm = page.get_by_role("alert").filter(has_text="do not continue what this device saw")
    expect(alarm).to_be_visible()
    page.goto("/tarrowby/lots/")
    expect(alarm).to_be_visible()
    alarm.get_by_role("button", name="I have seen this").click()
    expect(alarm).to_be_hidden()
    page.goto("/tarrowby/lots/")
    expect(page.get_by_role("heading", name="Lots")).to_be_visible()
    expect(page.locator("#seal-alarm")).to_be_hidden()
    assert ("POST", "/tarrowby/seals/alarm/") in dairy.proxy.seen
