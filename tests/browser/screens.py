"""The screens of a walked day: one function for each kind of step (walking.py plays them in their order)."""

import re
from collections.abc import Mapping

from tests.browser.filling import arrive, capture, enter, fill, press, save
from tests.browser.going import go
from tests.browser.test_main_job import expect, unfold
from tests.browser.turns import by_password, choose, open_sheet
from tests.browser.walking import DAY, PASSWORD, SETTLED, SLUG, Device, Screen, Step, Walk


def sign_in(walk: Walk, device: Device, step: Step) -> None:
    """Sign in by name and password."""
    page = device.page
    page.goto("/sign-in/")
    page.get_by_label("Sign-in name").fill(step["name"])
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/today/")
    device.person = step["name"]


def pins(walk: Walk, device: Device, step: Step) -> None:
    """Let the people of a shared device choose their PINs on a page of capture; the last stays at work."""
    page = device.page
    go(page, walk.find(device, step["find"]))
    for number, (name, pin) in enumerate(step["pins"].items()):
        open_sheet(page) if number == 0 else None
        if number:
            by_password(page, name, PASSWORD)
        choose(page, name.title(), pin)
        device.pins[name] = pin
        device.person = name
    page.get_by_role("dialog").get_by_role("button", name="Close").click()


def check(walk: Walk, device: Device, step: Step) -> None:
    """Record one check, found on Today."""
    page = device.page
    address = walk.places.get(step["find"]) or walk.find(device, step["find"])
    if step.get("again"):
        address = re.sub(r"([:.])\d+/$", r"\1extra/", address)
    arrive(page, address)
    capture(page, step)


def series(walk: Walk, device: Device, step: Step) -> None:
    """Go round the points of a check, each saved by its own tap."""
    page, values = device.page, step["values"]
    count = step.get("partly", len(values))
    go(page, walk.find(device, step["find"]))
    for number, raw in enumerate(values, start=1):
        expect(page.locator(".series-head .step")).to_contain_text(f"{number} of {count}")
        enter(page, [raw])
        page.wait_for_timeout(520)  # a second tap within half a second counts as the first one's
        page.get_by_role("button", name="Save", exact=True).click()
        if number in step.get("outside", ()):
            expect(page.get_by_text("Outside the limit").first).to_be_visible()
            page.wait_for_timeout(520)
            page.get_by_role("link", name="Go on with the series").click()
    if "partly" not in step:
        page.wait_for_url("**/today/")
    page.wait_for_function(SETTLED)


def seen_round(walk: Walk, device: Device, step: Step) -> None:
    """Confirm what was seen and is in order."""
    go(device.page, f"{SLUG}/rounds/now/")
    expect(device.page.locator(".things li")).to_have_count(step["count"])
    save(device.page)


def instrument(walk: Walk, device: Device, step: Step) -> None:
    """Check an instrument."""
    go(device.page, walk.find(device, step["find"]))
    fill(device.page, step["fields"])
    press(device.page, "Save")


def milk(walk: Walk, device: Device, step: Step) -> None:
    """Receive a load of milk."""
    page = device.page
    go(page, f"{SLUG}/receiving/milk/")
    page.locator(".source-link", has_text=step["farm"]).click()
    page.locator("[name=volume]").wait_for()
    fill(page, step["fields"])
    press(page, "Save the receipt")
    found = re.search(r"loads?[/:]([0-9a-f-]{36})", page.url)
    assert found, page.url
    walk.places[step["name"]] = f"{SLUG}/receiving/loads/{found[1]}/"


def of_load(walk: Walk, device: Device, step: Step) -> None:
    """Record the next check of a load."""
    go(device.page, walk.places[step["load"]] + "next/")
    expect(device.page.locator(".capture-title")).to_contain_text(step["find"])
    capture(device.page, step)


def form(walk: Walk, device: Device, step: Step) -> None:
    """Fill a page's form and send it; `name` keeps the address of what was made."""
    page = device.page
    base = walk.place(step["of"], device) if step.get("of") else f"{SLUG}/"
    go(page, base + step.get("then", ""))
    if step.get("unfold"):
        unfold(page, step["unfold"])
    for lot, number in step.get("order", {}).items():
        page.locator(".lot-row", has_text=lot).locator(".place").fill(str(number))
    for words, raw in step.get("beside", {}).items():
        page.get_by_label(re.compile(re.escape(words))).first.fill(raw)
    button = page.get_by_role("button", name=step["button"], exact=True)
    fill(page.locator("form").filter(has=button).first, step.get("fields", {}))
    press(page, step["button"])
    if step.get("says"):
        expect(page.locator("main")).to_contain_text(step["says"])
    if step.get("name"):
        walk.places[step["name"]] = page.url.split("#")[0].split("?")[0]


def event(walk: Walk, device: Device, step: Step) -> None:
    """Record what happened to a lot, on the page that asks for its details."""
    go(device.page, f"{walk.place(step['lot'], device)}events/{step['event']}/")
    capture(device.page, {"values": [], **step})


def tap(walk: Walk, device: Device, step: Step) -> None:
    """Record by one tap what happened, on the page of the make."""
    page = device.page
    go(page, f"{walk.place(step['lot'], device)}make/")
    page.locator(f"[data-tap='{step['event']}']").first.click()
    expect(page.locator("#make-said")).to_contain_text(re.compile(r"received, no\. \d+"))


def of_lot(walk: Walk, device: Device, step: Step) -> None:
    """Record a check of a lot, found on the page of its make."""
    page = device.page
    go(page, f"{walk.place(step['lot'], device)}make/")
    page.locator("a.check", has_text=step["find"]).first.click()
    page.get_by_role("button", name="Save", exact=True).wait_for()
    capture(page, step)


def deviation(walk: Walk, device: Device, step: Step) -> None:
    """Open the deviation of a control from Today, and note where it is."""
    go(device.page, f"{SLUG}/deviations/")
    row = device.page.locator("main tr", has_text=step["find"]).first
    row.locator("a[href*='/deviations/']").first.click()
    device.page.wait_for_load_state()
    walk.places[step["name"]] = device.page.url.split("#")[0]


def reading(walk: Walk, device: Device, step: Step) -> None:
    """Correct a reading that is shown on the sheet of the day."""
    page = device.page
    go(page, f"{SLUG}/days/{step.get('date', DAY.isoformat())}/")
    named = re.compile(rf"^{step['find']}")
    page.locator("a[href*='/readings/']", has_text=named).nth(step.get("nth", 0)).click()
    page.get_by_role("link", name="Correct", exact=True).click()
    page.locator("#reason").fill(step["reason"])
    enter(page, step["values"])
    save(page)


def put_right(walk: Walk, device: Device, step: Step) -> None:
    """Say what was done after a prerequisite outside its limit, and measure again."""
    page = device.page
    go(page, f"{SLUG}/today/")
    page.locator("a[href$='/correction/']", has_text=step["find"]).first.click()
    fill(page, {"action_code": step["action"]})
    press(page, "Record what was done")
    page.get_by_role("link", name="Measure again").click()
    capture(page, step)


def explain(walk: Walk, device: Device, step: Step) -> None:
    """Say on the sheet of the day why a check was not made."""
    page = device.page
    go(page, f"{SLUG}/days/{DAY.isoformat()}/")
    page.get_by_role("link", name=re.compile(f"Explain why not.*{step['find']}")).first.click()
    fill(page, step["fields"])
    press(page, "Record the reason")


SCREENS: Mapping[str, Screen] = {
    "sign_in": sign_in,
    "pins": pins,
    "check": check,
    "series": series,
    "round": seen_round,
    "instrument": instrument,
    "milk": milk,
    "of_load": of_load,
    "form": form,
    "event": event,
    "tap": tap,
    "of_lot": of_lot,
    "deviation": deviation,
    "reading": reading,
    "put_right": put_right,
    "explain": explain,
}
