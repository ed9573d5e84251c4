"""Around a record: taking it back, its photo, its instrument, scanning, a day without a make."""

import json
import re
from collections.abc import Callable
from typing import Any

import pytest

from tests.browser.conftest import Site
from tests.browser.going import asked, go
from tests.browser.staged import site
from tests.browser.test_capture_hands import open_check, stored
from tests.browser.test_main_job import SAVED, SECOND_TAP, Taps, expect
from tests.builders import a_picture
from tests.records.batches.test_scanning import qr_photo

__all__ = ["site"]  # the fixture that serves the stage

pytestmark = pytest.mark.browser
NEWEST = """async () => {
  const rows = await (await import("/static/js/outbox.js")).all();
  return rows.slice(0, 2).map(({ claim, state }) => (
    { kind: claim.kind, content: claim.content, uuid: claim.uuid, state }));
}"""


def newest(page: Any, kind: str) -> list[Any]:
    """Give the newest two records of the device once one of a kind is received last; the page may lead on."""
    for _ in range(40):
        found: list[Any] | None = asked(page, NEWEST)
        if found and (found[0]["kind"], found[0]["state"]) == (kind, "received"):
            return found
        page.wait_for_timeout(500)
    raise AssertionError(f"no {kind} was received last")


def save(page: Any) -> None:
    """Tap Save, a moment after the last key."""
    page.wait_for_timeout(SECOND_TAP)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#result")).to_contain_text(SAVED)


def undo_button(page: Any) -> Any:
    """Find the button that takes back."""
    return page.get_by_role("button", name=re.compile("^Undo"))


def test_a_record_is_taken_back_from_the_page_of_today(open_page: Callable[..., Any], site: Site) -> None:
    page = open_page("mirren")
    open_check(page, "OPRP3")
    Taps(page).keys("3.8")
    save(page)
    page.wait_for_url("**/today/")
    undo_button(page).click()
    expect(undo_button(page)).to_have_count(0)
    void, made = newest(page, "reading_void")
    assert void["content"]["reading"] == made["uuid"]
    go(page, f"/tarrowby/readings/{made['uuid']}/")
    expect(page.get_by_text("The reading was voided.")).to_be_visible()


def test_an_event_of_a_lot_is_taken_back_in_the_same_place(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    page.goto("/tarrowby/lots/")
    page.get_by_role("link", name=re.compile("TL-STAGE")).first.click()
    page.locator("a[href*='/events/drained/']").first.click()
    save(page)
    page.wait_for_url(re.compile("/lots/[0-9a-f-]+/$"))
    undo_button(page).click()
    expect(undo_button(page)).to_have_count(0)
    void, made = newest(page, "lot_event_void")
    assert (made["kind"], void["content"]["event"]) == ("lot_event", made["uuid"])


def test_a_round_is_taken_back_and_its_check_is_due_again(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    page.goto("/tarrowby/rounds/now/")
    expect(page.locator(".things li")).to_have_count(1)
    save(page)
    page.wait_for_url("**/today/")
    undo_button(page).click()
    expect(undo_button(page)).to_have_count(0)
    void, made = newest(page, "round_void")
    assert (made["kind"], void["content"]["round"]) == ("round", made["uuid"])
    go(page, "/tarrowby/rounds/now/")
    expect(page.locator(".things li")).to_have_count(1)


def test_taking_back_a_missed_limit_leaves_its_deviation(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    open_check(page, "OPRP3")
    Taps(page).keys("9.9")
    save(page)
    deviation = page.get_by_role("link", name="Record the action").get_attribute("href")
    page.wait_for_timeout(SECOND_TAP)
    undo_button(page).click()
    page.wait_for_url("**/today/")
    go(page, deviation)
    expect(page.get_by_text("Still missing:")).to_be_visible()
    expect(page.get_by_text(re.compile("Outside|outside")).first).to_be_visible()


def test_without_the_server_the_taking_back_waits_behind_the_record(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    open_check(page, "OPRP3")
    page.context.set_offline(True)
    Taps(page).keys("9.9")
    page.wait_for_timeout(SECOND_TAP)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("Saved on this device").first).to_be_visible()
    page.wait_for_timeout(SECOND_TAP)
    undo_button(page).click()
    expect(undo_button(page)).to_have_count(0)
    page.context.set_offline(False)
    go(page, "/tarrowby/today/")
    page.evaluate("async () => (await import('/static/js/outbox.js')).flush({ held: true })")
    void, made = page.evaluate(NEWEST)
    assert [(row["kind"], row["state"]) for row in (made, void)] == [
        ("reading", "received"),
        ("reading_void", "received"),
    ]


def test_a_required_photo_is_asked_for_bound_to_the_record_and_shown(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    open_check(page, "PRP2 Label")
    page.get_by_role("radio", name="correct", exact=True).first.check()
    page.wait_for_timeout(SECOND_TAP)
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.locator("#message")).to_have_text("The plan asks for a photo of this.")
    for name, content, words in (
        ("empty.jpg", b"", "The photo is empty"),
        ("new.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        ("page.jpg", b"<html>", "no picture"),
    ):
        page.set_input_files("#photo", {"name": name, "mimeType": "image/jpeg", "buffer": content})
        expect(page.locator("#capture-form").get_by_text(words).first).to_be_visible()
    photo = a_picture(size=(2600, 1300))
    page.set_input_files("#photo", {"name": "label.jpg", "mimeType": "image/jpeg", "buffer": photo})
    expect(page.get_by_role("img", name="Photo 1")).to_be_visible()
    save(page)
    made, *_rest = newest(page, "reading")
    assert len(made["content"]["photos"]) == 1
    go(page, f"/tarrowby/readings/{made['uuid']}/")
    expect(page.get_by_role("img", name=re.compile("Photo 1"))).to_be_visible()
    assert page.get_by_text("added after").count() == 0


def test_a_scanner_fills_one_field_and_saves_nothing(open_page: Callable[..., Any], site: Site) -> None:
    page = open_page("mirren")
    before = stored(site)
    open_check(page, "OPRP3")
    page.keyboard.type("3.8", delay=5)
    page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    page.wait_for_timeout(300)
    assert page.locator("#capture").get_attribute("data-state") == "entering"
    expect(page.locator("input.value")).to_have_value("3.8")
    assert stored(site) == before


SHIFTED = """(pairs) => {
  const field = document.getElementById("scan-code");
  field.focus();
  for (const [key, code] of pairs) {
    field.dispatchEvent(new KeyboardEvent("keydown", { key, code, bubbles: true }));
    if (key.length === 1) field.value += key;
  }
}"""


def test_a_scanner_set_for_another_keyboard_is_understood(open_page: Callable[..., Any]) -> None:
    # "TF-0514" as a French keyboard writes it when the scanner presses the keys of a United States one
    page = open_page("mirren")
    page.get_by_role("button", name="Scan a lot").click()
    pairs = [["t", "KeyT"], ["f", "KeyF"], [")", "Minus"], ["à", "Digit0"], ["(", "Digit5"], ["&", "Digit1"]]
    page.evaluate(SHIFTED, [*pairs, ["'", "Digit4"], ["Enter", "Enter"]])
    expect(page.locator("#scan-code")).to_have_value("tf-0514")


def test_a_photo_of_a_label_leads_to_its_lot(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    page.get_by_role("button", name="Scan a lot").click()
    label = {"name": "label.jpg", "mimeType": "image/jpeg", "buffer": qr_photo("TL-STAGE")}
    page.set_input_files("#scan-photo", label)
    page.wait_for_url("**/lots/*/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("TL-STAGE")


# Debian's Chromium reads no codes by itself: the reader is stood in for; the camera shows its test picture.
READER = """globalThis.BarcodeDetector = class {
  static async getSupportedFormats() { return ["qr_code"]; }
  async detect(video) {
    return video.readyState >= 2 && video.videoWidth > 0 ? [{ rawValue: "TL-STAGE" }] : [];
  }
};"""


def test_the_live_picture_of_the_camera_leads_to_a_lot_and_the_camera_is_let_go(
    open_page: Callable[..., Any],
) -> None:
    page = open_page("mirren")
    page.context.grant_permissions(["camera"])
    page.add_init_script(READER)
    page.reload()
    page.evaluate("""() => {
      const asked = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
      navigator.mediaDevices.getUserMedia = async (wanted) => (globalThis.stream = await asked(wanted));
      addEventListener("pagehide", () => {
        const ended = globalThis.stream.getTracks().every(({ readyState }) => readyState === "ended");
        sessionStorage.setItem("let-go", ended);
      });
    }""")
    page.get_by_role("button", name="Scan a lot").click()
    page.wait_for_url("**/lots/*/")
    expect(page.get_by_role("heading", name=re.compile("TL-STAGE"))).to_be_visible()
    assert page.evaluate("sessionStorage.getItem('let-go')") == "true"


def test_the_code_of_an_ingredient_lot_is_scanned_into_its_field_and_nothing_is_sent(
    open_page: Callable[..., Any],
) -> None:
    page = open_page("mirren")
    page.goto("/tarrowby/ingredients/new/")
    code = page.get_by_label("Lot code")
    code.press_sequentially("K81-77", delay=5)
    code.press("Enter")
    expect(code).to_have_value("K81-77")
    assert page.url.endswith("/ingredients/new/")
    page.get_by_role("button", name="Scan", exact=True).click()
    label = {"name": "label.jpg", "mimeType": "image/jpeg", "buffer": qr_photo("K82-01")}
    page.set_input_files("#scan-photo", label)
    expect(code).to_have_value("K82-01")
    assert page.url.endswith("/ingredients/new/")


def test_a_code_that_no_lot_has_is_said_and_what_was_scanned_stays(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    page.get_by_role("button", name="Scan a lot").click()
    page.locator("#scan-code").fill("XX-77")
    page.keyboard.press("Enter")
    expect(page.get_by_text("No lot has the code XX-77.")).to_be_visible()
    expect(page.locator("#scan-code")).to_have_value("XX-77")


def test_the_screen_stays_on_while_something_is_recorded(open_page: Callable[..., Any]) -> None:
    page = open_page("mirren")
    page.add_init_script(
        """Object.defineProperty(navigator, "wakeLock", { value: { request: async (kind) => {
        window.asked = kind; return { release: async () => { window.released = true; } }; } } });"""
    )
    open_check(page, "OPRP3")
    page.wait_for_function("() => window.asked === 'screen'")


def test_the_instrument_used_last_for_a_check_is_chosen_again(
    open_page: Callable[..., Any], site: Site
) -> None:
    page = open_page("mirren")
    open_check(page, "OPRP3")
    data = json.loads(page.locator("#capture-data").text_content())
    assert data["instruments"], "the demonstration has no instrument for this check"
    page.locator("#instrument").select_option(data["instruments"][-1]["id"])
    Taps(page).keys("3.8")
    save(page)
    open_check(page, "OPRP3")
    chosen = page.locator("#instrument").input_value()
    assert chosen == (data["instrument"] or data["instruments"][-1]["id"])
