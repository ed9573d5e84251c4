"""What is printed beside a limit: who confirmed it, on what source, when, and what evidence it has."""

import json
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from safetyplan.integrity.models import Entry
from safetyplan.plans.confirmations import (
    TARGETS,
    Given,
    confirmed_words,
    given_for,
    has_expired,
    outdated,
    standing,
    words_by_control,
)
from safetyplan.plans.confirming import confirm_figure, confirm_flow, confirm_targets
from safetyplan.plans.document import Plan, read
from safetyplan.plans.figures import figures, flow_value, limit_value, targets_value
from safetyplan.plans.parts import Validation
from tests.builders import T0, at, hours
from tests.cast import Cast
from tests.safetyplan.plans.stage import PLAN, write

PRESENT = read({**json.loads(PLAN), "validations": []})
TODAY = date(2026, 5, 14)
STUDY = Validation(
    "VAL1", "study", "Hold checked with three probes.", ("CCP1",), reference="Report 7", valid_until=""
)


def given_on(plan: Plan, code: str = "CCP1", **changed: Any) -> Given:
    """Give a confirmation of the limit of a control."""
    control = plan.control(code)
    assert control is not None
    one = Given(f"limit:{code}", limit_value(control), "", "Table 3", "Ada Person", date(2026, 5, 1))
    return replace(one, **changed)


def test_a_limit_nobody_confirmed_is_printed_as_not_confirmed() -> None:
    words = words_by_control(PRESENT, [], TODAY)

    assert set(words) == {control.code for control in PRESENT.controls}
    assert set(words.values()) == {"figures not confirmed"}


def test_a_confirmed_limit_names_person_source_and_day_and_that_it_is_not_validated() -> None:
    words = words_by_control(PRESENT, [given_on(PRESENT)], TODAY)

    assert words["CCP1"] == "figures confirmed by Ada Person on Table 3, 2026-05-01, not validated"
    assert words["CCP2"] == "figures not confirmed"


def test_a_confirmation_given_for_another_value_does_not_count() -> None:
    words = words_by_control(PRESENT, [given_on(PRESENT, value='{"kind":"bound"}')], TODAY)

    assert words["CCP1"] == "figures not confirmed"


def test_the_newest_confirmation_of_the_same_value_is_printed() -> None:
    newer = given_on(PRESENT, who="Bea Person", source="Table 4.", day=date(2026, 5, 9))

    words = words_by_control(PRESENT, [given_on(PRESENT), newer], TODAY)

    assert words["CCP1"] == "figures confirmed by Bea Person on Table 4, 2026-05-09, not validated"


def test_the_limit_of_a_prerequisite_is_confirmed_by_the_signed_table() -> None:
    table = Given(TARGETS, targets_value(PRESENT), "", "the signed table", "Ada Person", TODAY)

    words = words_by_control(PRESENT, [table], TODAY)

    assert words["OPRP1"] == "figures confirmed by Ada Person on the signed table, 2026-05-14, not validated"
    assert words["CCP1"] == "figures not confirmed"


def test_evidence_attached_to_a_control_is_printed_with_its_reference() -> None:
    words = words_by_control(replace(PRESENT, validations=(STUDY,)), [given_on(PRESENT)], TODAY)

    assert words["CCP1"].endswith("2026-05-01, validated: Hold checked with three probes (Report 7)")


def test_evidence_does_not_stand_in_for_a_confirmation() -> None:
    assert words_by_control(replace(PRESENT, validations=(STUDY,)), [], TODAY)["CCP1"] == (
        "figures not confirmed"
    )


def test_expired_evidence_is_printed_with_the_day_it_expired() -> None:
    old = replace(STUDY, valid_until="2026-05-13", reference="")

    words = words_by_control(replace(PRESENT, validations=(old, STUDY)), [given_on(PRESENT)], TODAY)

    assert words["CCP1"].endswith(
        "validation expired on 2026-05-13: Hold checked with three probes; "
        "validated: Hold checked with three probes (Report 7)"
    )


@pytest.mark.parametrize(
    ("until", "expired"), [("", False), ("2026-05-13", True), ("2026-05-14", False), ("2026-05-15", False)]
)
def test_evidence_counts_until_the_end_of_its_last_day(until: str, expired: bool) -> None:
    assert has_expired(replace(STUDY, valid_until=until), TODAY) is expired


def test_a_limit_still_to_be_set_is_not_confirmed_by_anything() -> None:
    document = json.loads(PLAN)
    unset = {"kind": "open", "prompt": "Which pH by when?", "sources": [], "suggests": "reached_by"}
    document["controls"] = [c | {"limit": unset} for c in document["controls"] if c["code"] == "CCP2"]
    plan = read(document | {"verifications": [], "validations": []})
    any_value = [given_on(plan, "CCP2"), Given(TARGETS, targets_value(plan), "", "table", "Ada", TODAY)]

    assert words_by_control(plan, any_value, TODAY) == {"CCP2": "figures not confirmed"}


def test_an_earlier_confirmation_is_found_when_the_figure_changed_since() -> None:
    now, before = given_on(PRESENT), given_on(PRESENT, value="{}", source="Old table")

    assert outdated([before, now], now.what, now.value) == before
    assert standing([before, now], now.what, now.value) == now
    assert outdated([now], now.what, now.value) is None


def test_a_print_of_an_earlier_day_says_what_was_confirmed_then(cast: Cast) -> None:
    write(cast)
    figure = next(f for f in figures(PRESENT) if f.what == "limit:CCP1")
    before = Entry.objects.of(cast.dairy).count()
    with at(cast.dairy, hours(2)):
        confirm_figure(
            establishment=cast.dairy, by=cast.owner, what=figure.what, value=figure.value, source="Annex 3"
        )

        then = confirmed_words(cast.dairy, PRESENT, before, today=TODAY)
        now = confirmed_words(cast.dairy, PRESENT)

    assert then["CCP1"] == "figures not confirmed"
    assert now["CCP1"] == "figures confirmed by Owner Person on Annex 3, 2026-05-14, not validated"


def test_the_day_of_a_confirmation_is_the_day_where_the_dairy_stands(cast: Cast) -> None:
    write(cast)
    with at(cast.dairy, T0.replace(hour=23, minute=30)):  # half past midnight of the 15th in Dublin
        confirm_targets(establishment=cast.dairy, proof=cast.proof(cast.owner), value=targets_value(PRESENT))
        product = PRESENT.products[0]
        confirm_flow(
            establishment=cast.dairy,
            proof=cast.proof(cast.owner),
            product=product.code,
            value=flow_value(product),
            note="Walked with the maker",
        )

    table, walked = given_for(cast.dairy)
    assert [table.day, walked.day] == [date(2026, 5, 15)] * 2
    assert [table.who, walked.who] == ["Owner Person"] * 2
    assert [walked.what, walked.source] == [f"flow:{product.code}", "Walked with the maker"]
    assert given_for(cast.other_dairy) == []
