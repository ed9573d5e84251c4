"""What is due for the plan, by the profile's own figures and the days they give.

Sources: 21 CFR 117.170(a) (the whole plan every three years), 117.170(c) (90 days), 117.160(b)(1) (validation
within 90 days of first production). The 30 and 60 days of notice are our own.
"""

from copy import deepcopy
from datetime import date

import pytest

from safetyplan.plans.document import read
from safetyplan.plans.duties import (
    DUE,
    OVERDUE,
    REANALYSIS,
    UPCOMING,
    Occasion,
    later,
)
from safetyplan.reference.profiles import profiles
from tests.safetyplan.plans.known_duties import PLAN, a_plan, done, found, stand

# Reanalysis ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("profile", "due_on"),
    [
        ("us_full", "2029-05-14"),  # 21 CFR 117.170(a): every three years
        ("us_qualified", "2027-05-14"),
        ("eu", "2027-05-14"),  # twelve months: our own suggestion, no source
        ("gb", "2027-05-14"),
        ("codex", "2027-05-14"),
        ("au", "2027-05-14"),
        ("nz", "2027-05-14"),
        ("ca", "2027-05-14"),
    ],
)
def test_the_reanalysis_is_due_the_months_of_the_profile_after_the_approval(
    profile: str, due_on: str
) -> None:
    listed = found(a_plan(profile), "2026-06-01")

    assert stand(listed, REANALYSIS) == [(due_on, UPCOMING)]
    (duty,) = [d for d in listed if d.code == REANALYSIS]
    figure = profiles()[profile].parameter("reanalysis_months")
    assert figure is not None
    assert duty.citation == figure.citation


@pytest.mark.parametrize(
    ("today", "state"),
    [
        ("2027-04-13", UPCOMING),  # 31 days before
        ("2027-04-14", DUE),  # 30 days before
        ("2027-05-14", DUE),  # the day itself
        ("2027-05-15", OVERDUE),
    ],
)
def test_thirty_days_before_its_day_a_duty_is_due_and_the_day_after_it_overdue(
    today: str, state: str
) -> None:
    assert stand(found(a_plan("gb"), today), REANALYSIS) == [("2027-05-14", state)]


def test_a_signed_reanalysis_begins_the_time_anew() -> None:
    signed = [done(REANALYSIS, "unchanged", "2027-03-02")]

    assert stand(found(a_plan("gb"), "2027-05-20", done=signed), REANALYSIS) == [("2028-03-02", UPCOMING)]


def test_a_reanalysis_signed_before_the_newest_approval_does_not_count_for_it() -> None:
    signed = [done(REANALYSIS, "unchanged", "2025-03-02", 5)]

    assert stand(found(a_plan("gb"), "2026-06-01", done=signed), REANALYSIS) == [("2027-05-14", UPCOMING)]


def test_months_of_the_dairys_own_count() -> None:
    plan = a_plan("gb", reanalysis_months="6")

    assert stand(found(plan, "2026-06-01"), REANALYSIS) == [("2026-11-14", UPCOMING)]


@pytest.mark.parametrize("value", ["yearly", "0", "1.5", "-3"])
def test_months_that_cannot_be_read_are_asked_for_not_guessed(value: str) -> None:
    listed = found(a_plan("gb", reanalysis_months=value), "2026-06-01")

    assert stand(listed, REANALYSIS) == []
    (asked,) = [d for d in listed if d.code == "unreadable"]
    assert f"“{value}”" in asked.words
    assert asked.state == DUE


def test_without_a_profile_nothing_is_assumed() -> None:
    listed = found(a_plan(None), "2036-06-01")

    assert {d.code for d in listed} <= {"validation_expiry"}


@pytest.mark.parametrize(
    ("day", "months", "result"),
    [
        ("2024-02-29", 12, "2025-02-28"),
        ("2026-08-31", 6, "2027-02-28"),
        ("2026-12-15", 1, "2027-01-15"),
        ("2026-05-14", 36, "2029-05-14"),
    ],
)
def test_months_are_counted_by_the_calendar(day: str, months: int, result: str) -> None:
    assert later(date.fromisoformat(day), months).isoformat() == result


# Occasions -----------------------------------------------------------------------------------------

VAT = Occasion("equipment", "A second vat", date(2026, 6, 2), 30)


def test_something_new_asks_for_a_reanalysis_until_one_is_signed() -> None:
    plan = a_plan("gb")

    listed = found(plan, "2026-06-03", occasions=[VAT])
    settled = found(plan, "2026-07-03", occasions=[VAT], done=[done(REANALYSIS, "revised", "2026-07-01", 31)])

    assert stand(listed, "occasion") == [("2026-06-02", DUE)]
    assert "New equipment, 2026-06-02: A second vat." in listed[0].words
    assert listed[0].citation == "Regulation (EC) 852/2004 as retained, article 5(2)"
    assert stand(settled, "occasion") == []


def test_what_became_known_after_the_reanalysis_counts_though_it_happened_before() -> None:
    signed = [done(REANALYSIS, "revised", "2026-07-01", 29)]

    listed = found(a_plan("gb"), "2026-07-03", occasions=[VAT], done=signed)

    assert stand(listed, "occasion") == [("2026-06-02", DUE)]


def test_an_approval_answers_what_was_known_before_it() -> None:
    known_before = Occasion("supplier", "Milk from another farm", date(2026, 5, 1), 9)

    assert stand(found(a_plan("gb"), "2026-06-03", occasions=[known_before]), "occasion") == []


@pytest.mark.parametrize(
    ("today", "state"), [("2026-08-31", DUE), ("2026-09-01", OVERDUE)]
)  # 90 days after 2 June: 21 CFR 117.170(c)
def test_under_the_full_rules_of_the_united_states_a_change_has_ninety_days(today: str, state: str) -> None:
    listed = found(a_plan("us_full"), today, occasions=[VAT])

    assert stand(listed, "occasion") == [("2026-08-31", state)]
    assert "117.170" in listed[0].citation


def test_an_unforeseen_deviation_may_be_answered_by_a_reason() -> None:
    glass = Occasion("unforeseen", "Deviation 4: a pane broke.", date(2026, 6, 2), 30)

    (duty, *_others) = found(a_plan("gb"), "2026-06-03", occasions=[glass])

    assert duty.words == (
        "Unforeseen deviation, 2026-06-02: Deviation 4: a pane broke. Analyse the plan again, or say why not."
    )


# Validation ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("today", "state"),
    [
        ("2026-11-01", UPCOMING),  # 61 days before
        ("2026-11-02", DUE),  # 60 days before
        ("2027-01-01", DUE),  # its last day still counts
        ("2027-01-02", OVERDUE),
    ],
)
def test_a_validation_is_named_sixty_days_before_it_expires(today: str, state: str) -> None:
    plan = deepcopy(PLAN)
    plan["validations"][0]["valid_until"] = "2027-01-01"
    del plan["profile"]

    assert stand(found(read(plan), today), "validation_expiry")[0] == ("2027-01-01", state)


@pytest.mark.parametrize(
    ("today", "state"), [("2026-08-29", DUE), ("2026-08-30", OVERDUE), ("2026-07-01", UPCOMING)]
)
def test_a_critical_control_point_is_validated_ninety_days_after_first_production(
    today: str, state: str
) -> None:
    listed = found(a_plan("us_full", validated=False), today, first_made={"TF": date(2026, 5, 31)})

    # 21 CFR 117.160(b)(1): 90 calendar days after production begins; both critical control points serve TF
    assert stand(listed, "validation") == [("2026-08-29", state)] * 2
    assert all(d.citation == "21 CFR 117.160(b)(1)" for d in listed if d.code == "validation")


def test_a_control_that_came_later_counts_from_when_it_is_in_force() -> None:
    listed = found(
        a_plan("us_full", validated=False),
        "2026-07-01",
        first_made={"TF": date(2026, 1, 1)},
        since={"CCP1": date(2026, 6, 1), "CCP2": date(2025, 1, 1)},
    )

    assert sorted(stand(listed, "validation")) == [("2026-04-01", OVERDUE), ("2026-08-30", UPCOMING)]


def test_where_the_profile_gives_no_days_validation_comes_before_the_first_lot() -> None:
    plan = a_plan("codex", validated=False)

    assert stand(found(plan, "2026-06-01"), "validation") == [(None, DUE)] * 2
    made = found(plan, "2026-06-01", first_made={"TF": date(2026, 6, 1)})
    assert stand(made, "validation") == [("2026-06-01", OVERDUE)] * 2


def test_a_validated_control_is_not_named() -> None:
    assert stand(found(a_plan("codex"), "2026-06-01"), "validation") == []
