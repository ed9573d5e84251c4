"""Hands on the pages: the parts of a capture, the fields of a form, sending them and seeing them arrive."""

from collections.abc import Mapping
from typing import Any

from tests.browser.going import go
from tests.browser.test_main_job import SAVED, expect
from tests.builders import a_picture


def enter(page: Any, values: list[str | None]) -> None:
    """Enter the parts of a check or event one after the other; None leaves one out."""
    for number, raw in enumerate(values):
        part = page.locator(f"#part-{number}, [name='part-{number}']").first
        part.wait_for(state="attached")
        if raw is not None:
            if part.get_attribute("type") == "radio":
                page.locator(f"[name='part-{number}'][value='{raw}']").check()
            else:
                part.fill(raw)
        if number < len(values) - 1:
            page.get_by_role("button", name="Next", exact=True).click()


def save(page: Any) -> None:
    """Tap Save and see that it was received."""
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#result")).to_contain_text(SAVED)


def chosen(select: Any, text: str) -> str:
    """Find the option that a text names, wholly or else in part."""
    listed = select.locator("option").evaluate_all("all => all.map(o => [o.textContent.trim(), o.value])")
    found = [value for said, value in listed if said == text] or [v for said, v in listed if text in said]
    return str(found[0])


def fill(page: Any, fields: Mapping[str, str]) -> None:
    """Fill the fields of a form by their names."""
    for name, text in fields.items():
        one = page.locator(f"[name='{name}']")
        kind = one.first.evaluate("f => f.type")
        if kind == "radio":
            page.locator(f"[name='{name}'][value='{text}']").check()
        elif kind == "select-one":
            one.select_option(chosen(one, text))
        else:
            one.fill(text)


def press(page: Any, button: str) -> None:
    """Send a form and wait for the page it leads to; a refusal fails the day."""
    with page.expect_response(lambda r: r.request.method == "POST") as answer:
        page.get_by_role("button", name=button, exact=True).first.click()
    status = answer.value.status
    assert status in (200, 302), f"{button}: {status} {page.locator('main').inner_text()[:600]}"
    page.wait_for_load_state()


def arrive(page: Any, address: str) -> None:
    """Go to a page of capture and see that it stays: the page before may still lead on to Today."""
    from playwright.sync_api import TimeoutError as Late

    for _ in range(2):
        go(page, address)
        try:
            page.locator("#part-0, [name='part-0']").first.wait_for(state="attached", timeout=8000)
            return
        except Late:
            continue
    go(page, address)


def capture(page: Any, step: Mapping[str, Any]) -> None:
    """Enter what a page of capture asks, and save it."""
    enter(page, step["values"])
    if step.get("instrument"):
        tool = page.locator("#instrument")
        tool.select_option(chosen(tool, step["instrument"]))
    for number in range(step.get("photos", 0)):
        photo = a_picture(("white", "ivory")[number % 2], size=(900, 600))
        one = {"name": f"{number}.jpg", "mimeType": "image/jpeg", "buffer": photo}
        page.set_input_files("#photo", one)
        expect(page.get_by_role("img", name=f"Photo {number + 1}")).to_be_visible()
    if step.get("measured"):
        page.locator(".moment-open").click()
        page.locator("#moment-time").fill(step["measured"])
        if step.get("late"):
            page.locator("#moment-reason").fill(step["late"])
    save(page)
    if step.get("outside"):
        expect(page.get_by_text("Outside the limit").first).to_be_visible()
