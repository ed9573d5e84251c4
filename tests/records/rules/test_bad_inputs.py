"""Further rows of the bad-input table at the service and in claims: lots, double sends, races, signatures."""

from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

import pytest
from pytest_django.plugin import DjangoDbBlocker

from records.batches.models import Lot, LotEvent
from records.checks.capture import accept_claim
from records.checks.models import Reading
from records.deviations.models import Deviation
from records.deviations.queries import state_of
from safetyplan.integrity import canonical
from safetyplan.integrity.ledger import head
from safetyplan.integrity.models import Entry, RefusedClaim
from safetyplan.integrity.refusals import BadInput, Refused
from tests.builders import (
    T0,
    Device,
    a_device,
    a_lot,
    a_reading,
    at,
    day_slot,
    hours,
    lot_slot,
)
from tests.calculation.published import published
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve, document
from tests.records.rules.sharing import undone

pytestmark = pytest.mark.django_db
VALUES: list[dict[str, Any]] = [
    row
    for row in published("typed_values")["values"]
    if (row["quantity"], row["unit"]) == ("temperature", "degC") and not row.get("confirmed")
]
CODES: list[dict[str, Any]] = published("typed_values")["codes"]


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    """Open a dairy with a plan in force."""
    with undone(django_db_blocker):
        cast = make_cast()
        approve(cast, document(), T0.replace(day=13))
        yield cast


@pytest.fixture(scope="module")
def phone(dairy: Cast, django_db_blocker: DjangoDbBlocker) -> Iterator[Device]:
    """Enrol the maker's phone."""
    with undone(django_db_blocker), at(dairy.dairy, hours(-1)):
        yield a_device(dairy.dairy, dairy.maker)


@pytest.fixture(scope="module")
def lot(dairy: Cast, phone: Device, django_db_blocker: DjangoDbBlocker) -> Iterator[Lot]:
    """Start a lot."""
    with undone(django_db_blocker), at(dairy.dairy, hours(0.1)):
        yield a_lot(dairy)


@pytest.fixture
def now(dairy: Cast, lot: Lot) -> Iterator[None]:
    """Stop the clock half an hour after the start of the lot."""
    with at(dairy.dairy, hours(0.5)):
        yield


def milk(phone: Device, lot: Lot, value: str = "3.8") -> dict[str, Any]:
    """Make the claim of the milk's temperature at receipt."""
    return phone.reading(lot_slot(lot, "OPRP3"), hours(0.4), temperature=value)


def refused(phone: Device, claim: dict[str, Any]) -> Refused:
    """Send a claim that is refused; nothing of it is recorded, and its bytes are kept with the reason."""
    before = head(phone.dairy)
    with pytest.raises(Refused) as caught:
        phone.send(claim)
    kept = RefusedClaim.objects.of(phone.dairy).order_by("-pk")[0]
    assert (bytes(kept.raw), kept.reason) == (canonical.dumps(claim), str(caught.value))
    assert (" " in kept.reason, head(phone.dairy)) == (True, before)
    return caught.value


# Rows 20 and 74: the wrong part, the wrong kind -----------------------------------------------------


Change = Callable[[dict[str, Any]], object]


def in_part(**changes: Any) -> Change:
    """Change the first part of a claim's content."""
    return lambda claim: claim["content"]["parts"][0].update(changes)


def in_content(**changes: Any) -> Change:
    """Change a claim's content."""
    return lambda claim: claim["content"].update(changes)


STRANGE: list[tuple[str, Change]] = [
    ("row 20: a pH sent to a temperature", in_part(name="ph", raw="6.8")),
    ("row 20: a unit of another quantity", in_part(unit="kg")),
    ("row 74: a unit nobody knows", in_part(unit="grade")),
    ("row 74: a number in place of text", in_part(raw=4)),
    ("row 74: no text at all", in_part(raw=None)),
    ("row 74: a list in place of text", in_part(raw=["3.8"])),
    ("row 74: a number as unit", in_part(unit=5)),
    ("row 74: a word as confirmation", in_part(confirmed="yes")),
    ("row 74: a part with an unknown field", in_part(author="somebody")),
    ("row 74: parts that are no list", in_content(parts={"temperature": "3.8"})),
    ("row 74: parts that are no objects", in_content(parts=["3.8"])),
    ("row 16: no parts", in_content(parts=[])),
    ("row 74: a slot that is no text", in_content(slot=None)),
    ("row 74: a reason that is no text", in_content(late_reason=5)),
    ("row 74: an instrument that is no number of one", in_content(instrument="the probe")),
    ("row 74: an instrument nobody knows", in_content(instrument=str(uuid4()))),
    ("row 36: a correction of nothing known", in_content(supersedes=str(uuid4()), reason="Wrong line")),
    ("row 68: the character NUL in a reason", in_content(late_reason="paper\0first")),
    ("row 72: a reason of 10,000 characters", in_content(late_reason="x" * 10_000)),
]


@pytest.mark.parametrize(("why", "change"), STRANGE, ids=[why for why, _ in STRANGE])
def test_a_claim_with_a_strange_field_is_refused_in_words_and_kept(
    phone: Device, lot: Lot, now: None, why: str, change: Change
) -> None:
    claim = milk(phone, lot)
    change(claim)
    if "NUL" not in why:
        assert refused(phone, claim).status == 422
        return
    raw = canonical.dumps(milk(phone, lot)).replace(b'"late_reason":""', b'"late_reason":"a\\u0000b"')
    with pytest.raises(BadInput):
        accept_claim(establishment=phone.dairy, raw=raw, signature=phone.sign(raw))
    assert bytes(RefusedClaim.objects.of(phone.dairy).get().raw) == raw


# Row 32: lots and checks that are not there ----------------------------------------------------------

STRANGE_SLOTS = [
    "",
    "milk",
    "lot:00000000-0000-4000-8000-000000000001:OPRP3:0",
    "lot:not-a-lot:OPRP3:0",
    "day:2026-05-14:PRP1:9",
    "day:2026-05-14:PRP9:0",
    "day:2026-05-14:OPRP3:0",
    "day:2026-02-30:PRP1:0",
    "day:0001-01-01:PRP1:0",
    "day:9999-12-31:PRP1:0",
    "day:20260514:PRP1:extra",
    "day:2026-05-14:PRP1:-1",
    "day:2026-05-14:PRP1:00",
    "day:2026-05-14:PRP1:٣",
    "day:2026-05-14:PRP1:" + "9" * 5000,
    "day:2026-05-14:PRP1:0:0",
]


@pytest.mark.parametrize("slot", STRANGE_SLOTS, ids=lambda slot: f"{slot[:40]!a}")
def test_row_32_a_check_that_is_not_there_is_refused_by_service_and_claim(
    dairy: Cast, phone: Device, now: None, slot: str
) -> None:
    with pytest.raises(BadInput) as caught:
        a_reading(dairy, slot, hours(0.4), temperature="3.5")
    assert caught.value.part == "slot"
    assert refused(phone, phone.reading(slot, hours(0.4), temperature="3.5")).part == "slot"


def test_row_32_a_lot_written_in_another_way_is_not_another_check(phone: Device, lot: Lot, now: None) -> None:
    claim = milk(phone, lot)
    claim["content"]["slot"] = claim["content"]["slot"].replace(str(lot.pk), lot.pk.hex)
    assert refused(phone, claim).part == "slot"


def test_row_32_a_lot_of_another_dairy_is_not_there(dairy: Cast, phone: Device, lot: Lot, now: None) -> None:
    with pytest.raises(Refused):
        a_reading(dairy, lot_slot(lot, "OPRP3"), hours(0.4), by=dairy.stranger, temperature="3.8")


def event(phone: Device, lot: str, **details: Any) -> dict[str, Any]:
    """Make the claim of a starter."""
    content = {
        "lot": lot,
        "event": "starter_added",
        "observed_at": canonical.instant(hours(0.4)),
        "details": [
            {"name": name, "raw": raw, "unit": "", "confirmed": False} for name, raw in details.items()
        ],
        "late_reason": "",
        "supersedes": None,
        "reason": "",
    }
    return phone.claim("lot_event", content)


def test_rows_1_to_19_and_84_a_number_of_an_event_is_read_as_that_of_a_check(
    dairy: Cast, phone: Device, lot: Lot, now: None
) -> None:
    for row in VALUES:
        claim = event(phone, str(lot.pk), culture="MA K81", dose="1", milk_temperature=row["text"])
        if row["grade"] == "A":
            taken = phone.send(claim).record
            assert isinstance(taken, LotEvent)
            assert f'"{row["value"]}"' in taken.details, row
        elif canonical.text_problem(row["text"]) is None and row["text"].strip():
            assert refused(phone, claim).part == "milk_temperature", row


def test_row_32_an_event_of_an_unknown_lot_is_refused(phone: Device, now: None) -> None:
    assert refused(phone, event(phone, str(uuid4()))).part == "lot"


# Rows 30, 31, 69 to 71: lot codes --------------------------------------------------------------------


@pytest.mark.parametrize("row", [r for r in CODES if r.get("grade") == "A"], ids=lambda r: f"{r['text']!a}")
def test_a_lot_code_that_is_taken_has_one_form(dairy: Cast, now: None, row: dict[str, Any]) -> None:
    assert a_lot(dairy, code=row["text"]).code == row["code"]


@pytest.mark.parametrize("row", [r for r in CODES if r.get("grade") == "R"], ids=lambda r: f"{r['text']!a}")
def test_a_lot_code_that_cannot_be_is_refused(dairy: Cast, now: None, row: dict[str, Any]) -> None:
    before = head(dairy.dairy)
    with pytest.raises(BadInput) as caught:
        a_lot(dairy, code=row["text"])
    assert (caught.value.part, " " in str(caught.value)) == ("code", True)
    assert head(dairy.dairy) == before


@pytest.mark.parametrize("row", [r for r in CODES if "similar_to" in r], ids=lambda r: f"{r['text']!a}")
def test_a_lot_code_like_another_is_refused_naming_it(dairy: Cast, now: None, row: dict[str, Any]) -> None:
    a_lot(dairy, code=row["similar_to"])
    with pytest.raises(BadInput, match=row["similar_to"]):
        a_lot(dairy, code=row["text"])


# Rows 33 to 36: sent twice, an older plan, a race ------------------------------------------------------


def test_rows_33_and_34_a_claim_sent_twice_is_stored_once_with_one_receipt(
    dairy: Cast, phone: Device, lot: Lot, now: None
) -> None:
    claim = milk(phone, lot)
    first = phone.send(claim)
    second = phone.send(claim)
    assert (first.duplicate, second.duplicate, first.receipt) == (False, True, second.receipt)
    assert Reading.objects.of(dairy.dairy).count() == 1


def test_row_33_a_missed_limit_sent_twice_opens_one_deviation(
    dairy: Cast, phone: Device, lot: Lot, now: None
) -> None:
    claim = milk(phone, lot, "9")
    opened = [phone.send(claim).deviation, phone.send(claim).deviation]
    assert opened == [Deviation.objects.of(dairy.dairy).get()] * 2


def test_row_33_another_value_under_the_same_number_is_refused_and_kept(
    dairy: Cast, phone: Device, lot: Lot, now: None
) -> None:
    claim = milk(phone, lot)
    phone.send(claim)
    assert "number already" in str(refused(phone, {**milk(phone, lot, "4.1"), "uuid": claim["uuid"]}))
    assert Reading.objects.of(dairy.dairy).get().value_text == "3.8"


def stricter_plan() -> dict[str, Any]:
    """Write the plan with a colder cold store and colder milk."""
    plan = document()
    for control in plan["controls"]:
        if control["code"] in ("PRP1", "OPRP3"):
            control["limit"].update(at_most="3", target_at_most=None)
    return plan


def test_row_35_a_lot_keeps_the_plan_it_started_with(dairy: Cast, phone: Device, lot: Lot) -> None:
    approve(dairy, stricter_plan(), hours(0.2))
    with at(dairy.dairy, hours(0.5)):
        reading = phone.send(milk(phone, lot)).record
    assert isinstance(reading, Reading)
    assert (reading.plan_version.number, reading.state) == (1, "within")


def test_row_35_a_lot_of_the_new_plan_is_judged_by_it(dairy: Cast, phone: Device, lot: Lot) -> None:
    approve(dairy, stricter_plan(), hours(0.2))
    with at(dairy.dairy, hours(0.5)):
        reading = phone.send(milk(phone, a_lot(dairy, code="TF-2", started=hours(0.3)))).record
    assert isinstance(reading, Reading)
    assert (reading.plan_version.number, reading.state) == (2, "outside_limit")


@pytest.mark.parametrize(("ordinal", "hour", "number"), [(0, 0.4, 1), (1, 9.5, 2)])
def test_row_35_a_prerequisite_follows_the_plan_in_force_when_it_is_due(
    dairy: Cast, phone: Device, lot: Lot, ordinal: int, hour: float, number: int
) -> None:
    approve(dairy, stricter_plan(), hours(0.2))
    with at(dairy.dairy, hours(hour)):
        claim = phone.reading(day_slot(T0, "PRP1", ordinal), hours(hour), temperature="2.5")
        record = phone.send(claim).record
    assert isinstance(record, Reading)
    assert record.plan_version.number == number


def test_row_36_the_second_of_two_corrections_is_told_the_value_of_the_first(
    dairy: Cast, phone: Device, lot: Lot, now: None
) -> None:
    first = phone.send(milk(phone, lot)).record
    claims = [milk(phone, lot, value) for value in ("3.6", "3.7")]
    for claim in claims:
        claim["content"].update(supersedes=str(first.pk), reason="Read the wrong line")
    phone.send(claims[0])
    refusal = refused(phone, claims[1])
    assert (refusal.status, "3.6" in str(refusal)) == (409, True)
    assert Reading.objects.of(dairy.dairy).filter(supersedes=first.pk).get().value_text == "3.6"


# Row 40: outside the limit is saved at once ------------------------------------------------------------


def test_row_40_a_reading_outside_its_limit_is_saved_at_once_and_its_task_stays_open(
    dairy: Cast, phone: Device, lot: Lot, now: None
) -> None:
    accepted = phone.send(milk(phone, lot, "9"))
    assert accepted.deviation is not None
    state = state_of(dairy.dairy, accepted.deviation)
    assert (state.is_open, state.hold_missing) == (True, True)
    assert state.missing() == ["hold", "action", "cause", "evaluation", "disposition"]
    assert Entry.objects.of(dairy.dairy).filter(pk=accepted.record.pk).exists()


def test_row_40_a_reading_within_its_limit_opens_nothing(phone: Device, lot: Lot, now: None) -> None:
    assert phone.send(milk(phone, lot)).deviation is None
