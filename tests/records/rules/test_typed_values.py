"""Typed values of the bad-input table, through the service and through a device's claim.

Each row names its expected outcome: taken (A), taken once confirmed (C), or refused with offers (R). Nothing
but a refusal in words may come back, and what a device sent is kept.
"""

import json
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from pytest_django.plugin import DjangoDbBlocker

from records.checks.capture import Accepted, accept_claim
from records.checks.models import Reading
from records.checks.services import ReadingContent, record_reading
from safetyplan.integrity import canonical
from safetyplan.integrity.ledger import head
from safetyplan.integrity.models import RefusedClaim
from safetyplan.integrity.refusals import BadInput
from tests.builders import T0, Device, a_device, at, hours
from tests.calculation.published import published
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve, bound, document, extra_of, kept_parts, prerequisite
from tests.records.rules.sharing import undone

pytestmark = pytest.mark.django_db
ROWS: list[dict[str, Any]] = published("typed_values")["values"]
FIELDS = sorted({(row["quantity"], row["unit"]) for row in ROWS})
CODE_OF = {field: f"X{number}" for number, field in enumerate(FIELDS)}
NOON = hours(4)
Row = dict[str, Any]


def plan_with_every_field() -> dict[str, Any]:
    """Write a plan with one daily check for each field of the table."""
    plan = document()
    checks = [prerequisite(CODE_OF[f], bound("amount", *f, at_most="12")) for f in FIELDS]
    return {**plan, "controls": [*plan["controls"], *checks]}


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    """Open a dairy whose plan has every field."""
    with undone(django_db_blocker):
        cast = make_cast()
        approve(cast, plan_with_every_field(), T0.replace(day=13))
        yield cast


@pytest.fixture(scope="module")
def phone(dairy: Cast, django_db_blocker: DjangoDbBlocker) -> Iterator[Device]:
    """Enrol the maker's phone."""
    with undone(django_db_blocker), at(dairy.dairy, hours(0)):
        yield a_device(dairy.dairy, dairy.maker)


def named(row: Row) -> str:
    """Name a row by its number, text and field."""
    confirmed = "confirmed " if row.get("confirmed") else ""
    return f"row {row['row']}: {confirmed}{row['text']!a} in {row['unit']} is {row['grade']}"


def part(row: Row) -> dict[str, Any]:
    """Write what was typed as a form or a device sends it."""
    confirmed = bool(row.get("confirmed", False))
    return {"name": "amount", "raw": row["text"], "unit": row["unit"], "confirmed": confirmed}


def slot(row: Row) -> str:
    """Name the check of a row's field."""
    return extra_of(NOON, CODE_OF[row["quantity"], row["unit"]])


def record(cast: Cast, row: Row) -> Reading:
    """Send a row through the service."""
    content = ReadingContent(slot=slot(row), observed_at=NOON, parts=[part(row)])
    return record_reading(establishment=cast.dairy, by=cast.maker, content=content).reading


def claim_bytes(phone: Device, row: Row) -> bytes:
    """Write a row as a claim; text that canonical JSON cannot hold is escaped, as a careless device would."""
    claim = phone.reading(slot(row), NOON)
    claim["content"]["parts"] = [part(row)]
    try:
        return canonical.dumps(claim)
    except canonical.CanonicalError:
        return json.dumps(claim, sort_keys=True, separators=(",", ":")).encode()


def send(phone: Device, raw: bytes) -> Accepted:
    """Sign and send the bytes of a claim."""
    return accept_claim(establishment=phone.dairy, raw=raw, signature=phone.sign(raw))


def expected_value(row: Row) -> tuple[str, Decimal]:
    """Give the mark and the number of an accepted row."""
    return row.get("censored", ""), Decimal(row["value"])


def kept_value(reading: Reading) -> tuple[str, Decimal]:
    """Give the mark and the number that a reading keeps."""
    value = kept_parts(reading.parts)[0]["value"]
    mark = value[0] if value[0] in "<>" else ""
    return mark, Decimal(value.removeprefix(mark))


def offers_of(refusal: BadInput) -> list[list[Any]]:
    """Give the offers of a refusal as the table writes them, without what is shown."""
    return [[offer["raw"], offer["unit"], offer["confirmed"]] for offer in refusal.offers]


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] == "A"], ids=named)
def test_the_service_takes_a_value_and_keeps_the_raw_text_beside_it(dairy: Cast, row: Row) -> None:
    with at(dairy.dairy, NOON):
        reading = record(dairy, row)
    assert kept_value(reading) == expected_value(row)
    assert kept_parts(reading.parts)[0]["raw"] == row["text"]
    assert kept_parts(reading.parts)[0]["unit"] == row["unit"]


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] != "A"], ids=named)
def test_the_service_refuses_a_value_in_words_with_its_offers_and_stores_nothing(
    dairy: Cast, row: Row
) -> None:
    before = head(dairy.dairy)
    with at(dairy.dairy, NOON), pytest.raises(BadInput) as caught:
        record(dairy, row)
    refusal = caught.value
    assert refusal.part == "amount"
    assert " " in str(refusal).strip()
    assert offers_of(refusal) == [offer[:3] for offer in row["offers"]]
    shown = [str(told["label"]) for told in refusal.offers]
    assert all(offer[3] in label for offer, label in zip(row["offers"], shown, strict=True))
    assert head(dairy.dairy) == before


def taken_offers() -> list[tuple[Row, list[Any]]]:
    """Pair each row with each offer it is refused with."""
    return [(row, offer) for row in ROWS for offer in row.get("offers", [])]


@pytest.mark.parametrize(
    ("row", "offer"), taken_offers(), ids=lambda given: named(given) if isinstance(given, dict) else given[3]
)
def test_an_offer_that_is_chosen_is_taken_by_the_service(dairy: Cast, row: Row, offer: list[Any]) -> None:
    chosen = {"name": "amount", "raw": offer[0], "unit": offer[1], "confirmed": offer[2]}
    with at(dairy.dairy, NOON):
        content = ReadingContent(slot=slot(row), observed_at=NOON, parts=[chosen])
        reading = record_reading(establishment=dairy.dairy, by=dairy.maker, content=content).reading
    assert kept_parts(reading.parts)[0]["unit"] == offer[1]


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] == "A"], ids=named)
def test_a_claim_with_a_good_value_is_stored_as_the_service_stores_it(
    dairy: Cast, phone: Device, row: Row
) -> None:
    with at(dairy.dairy, NOON):
        raw = claim_bytes(phone, row)
        accepted = send(phone, raw)
    assert isinstance(accepted.record, Reading)
    assert kept_value(accepted.record) == expected_value(row)
    assert canonical.dumps(accepted.entry.document()["claim"]) == raw


@pytest.mark.parametrize("row", [row for row in ROWS if row["grade"] != "A"], ids=named)
def test_a_claim_with_a_bad_value_is_refused_in_words_and_kept_raw(
    dairy: Cast, phone: Device, row: Row
) -> None:
    before = head(dairy.dairy)
    with at(dairy.dairy, NOON):
        raw = claim_bytes(phone, row)
        with pytest.raises(BadInput) as caught:
            send(phone, raw)
    kept = RefusedClaim.objects.of(dairy.dairy).get()
    assert (bytes(kept.raw), kept.reason) == (raw, str(caught.value))
    assert " " in kept.reason
    assert head(dairy.dairy) == before
