"""The duties of a qualified facility of the United States, on the days that its rule gives.

Source: 21 CFR 117.201: status determined every year by 1 July; attestation from 1 October to 31 December of
even years, the first before operations begin; change of status by 31 July; with option (ii) name and full
address on the label or at the point of purchase. The 30 days of notice are our own.
"""

from datetime import date

import pytest

from safetyplan.plans.duties import ATTESTATION, DUE, OVERDUE, REANALYSIS, STATUS, UPCOMING, Done, Duty
from safetyplan.reference.profiles import profiles
from tests.safetyplan.plans.known_duties import a_plan, done, found, stand, words_of

ATTESTED = done(ATTESTATION, "option_i", "2024-11-03", 3)


def qualified(today: str, *signed: Done, begun: str = "2024-01-10", **changed: str) -> list[Duty]:
    """List what is due for a qualified facility; it attested in the window of 2024 unless said otherwise."""
    plan = a_plan("us_qualified", **changed)
    return found(plan, today, begun=begun, done=[ATTESTED, *signed], first_made={"TF": date(2024, 2, 1)})


@pytest.mark.parametrize(
    ("today", "day", "state"),
    [
        ("2026-05-31", "2026-07-01", UPCOMING),
        ("2026-06-01", "2026-07-01", DUE),
        ("2026-07-01", "2026-07-01", DUE),
        ("2026-07-02", "2026-07-01", OVERDUE),
        ("2027-01-01", "2027-07-01", UPCOMING),
    ],
)
def test_the_status_is_determined_every_year_by_the_first_of_july(today: str, day: str, state: str) -> None:
    assert stand(qualified(today), STATUS) == [(day, state)]


def test_a_status_determined_this_year_is_due_again_next_year() -> None:
    assert stand(qualified("2026-07-02", done(STATUS, "qualified", "2026-03-01")), STATUS) == [
        ("2027-07-01", UPCOMING)
    ]
    assert stand(qualified("2026-07-02", done(STATUS, "qualified", "2025-12-30")), STATUS) == [
        ("2026-07-01", OVERDUE)
    ]


def test_a_dairy_that_begins_after_the_first_of_july_determines_its_status_at_once() -> None:
    assert stand(qualified("2026-10-05", begun="2026-10-01"), STATUS) == [("2026-10-01", OVERDUE)]
    assert stand(qualified("2026-10-01", begun="2026-10-01"), STATUS) == [("2026-10-01", DUE)]


@pytest.mark.parametrize(
    ("today", "state"),
    [
        ("2026-08-31", UPCOMING),
        ("2026-09-01", DUE),  # 30 days before the window opens
        ("2026-10-01", DUE),
        ("2026-12-31", DUE),
        ("2027-01-01", OVERDUE),
    ],
)
def test_the_attestation_is_due_from_october_to_december_of_even_years(today: str, state: str) -> None:
    listed = qualified(today)

    assert stand(listed, ATTESTATION) == [("2026-12-31", state)]
    (duty,) = [d for d in listed if d.code == ATTESTATION]
    assert duty.opens_on == date(2026, 10, 1)
    assert duty.citation.startswith("21 CFR 117.201")


@pytest.mark.parametrize(
    ("attested", "day"),
    [
        ("2026-10-01", "2028-12-31"),  # in the window
        ("2026-12-31", "2028-12-31"),
        (
            "2026-05-02",
            "2026-12-31",
        ),  # a first submission outside it: the window of the year is still to come
        ("2025-03-01", "2026-12-31"),
        ("2027-02-01", "2028-12-31"),
    ],
)
def test_the_next_window_follows_the_last_attestation(attested: str, day: str) -> None:
    listed = qualified("2027-03-01", done(ATTESTATION, "option_i", attested))

    assert [due for due, _state in stand(listed, ATTESTATION)] == [day]


def test_a_dairy_attests_before_it_begins() -> None:
    plan = a_plan("us_qualified")

    before = found(plan, "2026-05-20", begun="2026-05-14")
    after = found(plan, "2026-05-20", begun="2026-05-14", first_made={"TF": date(2026, 5, 18)})

    assert stand(before, ATTESTATION) == [("2026-05-14", DUE)]
    assert stand(after, ATTESTATION) == [("2026-05-18", OVERDUE)]


def test_the_second_option_reminds_of_name_and_address() -> None:
    address = "the name and the full business address stand on the label, or at the point of purchase"

    assert address in words_of(qualified("2026-10-05", attestation_option="ii"), ATTESTATION)
    assert address not in words_of(qualified("2026-10-05", attestation_option="i"), ATTESTATION)
    undecided = words_of(found(a_plan("us_qualified"), "2026-05-20"), ATTESTATION)
    assert "Option (i)" in undecided
    assert address in undecided


def test_a_change_of_status_is_told_by_the_end_of_july() -> None:
    lost = done(STATUS, "not_qualified", "2026-06-20", 40)

    listed = qualified("2026-07-31", done(STATUS, "qualified", "2025-06-20"), lost)
    late = qualified("2026-08-01", lost)
    told = qualified("2026-08-01", lost, done(ATTESTATION, "change_notified", "2026-07-15", 41))

    assert stand(listed, "status_change") == [("2026-07-31", DUE)]
    assert stand(late, "status_change") == [("2026-07-31", OVERDUE)]
    assert stand(told, "status_change") == []
    assert stand(listed, ATTESTATION) == []


def test_a_status_that_stays_asks_for_no_notice() -> None:
    signed = [done(STATUS, "qualified", "2025-06-20"), done(STATUS, "qualified", "2026-06-20", 21)]

    assert stand(qualified("2026-07-31", *signed), "status_change") == []


def test_a_dairy_that_becomes_qualified_again_says_so_by_the_end_of_july() -> None:
    signed = [done(STATUS, "not_qualified", "2025-06-20"), done(STATUS, "qualified", "2026-06-20", 21)]

    assert stand(qualified("2026-07-01", *signed), "status_change") == [("2026-07-31", DUE)]


@pytest.mark.parametrize("code", ["status_by", "attestation_window"])
@pytest.mark.parametrize("value", ["1 July", "13-45", "07"])
def test_days_of_the_year_that_cannot_be_read_are_asked_for(code: str, value: str) -> None:
    listed = qualified("2026-06-10", **{code: value})

    assert [d.state for d in listed if d.code == "unreadable"] == [DUE]
    assert stand(listed, STATUS if code == "status_by" else ATTESTATION) == []


def test_other_profiles_know_nothing_of_a_qualified_facility() -> None:
    for profile in sorted(set(profiles()) - {"us_qualified"}):
        codes = {d.code for d in found(a_plan(profile), "2026-10-05")}
        assert not codes & {STATUS, ATTESTATION, "status_change"}


def test_the_overdue_come_first_then_by_day() -> None:
    listed = qualified("2026-07-02", done(REANALYSIS, "unchanged", "2025-08-01", 5))

    states = [d.state for d in listed]
    assert states == sorted(states, key=[OVERDUE, DUE, UPCOMING].index)
