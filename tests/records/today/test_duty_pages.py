"""The duties of the plan on their page, on Today and on Week; what the records of the dairy add to them."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.deviations.services import find_cause, open_unforeseen
from records.today.duties import known_of
from safetyplan.establishments.models import Person
from safetyplan.plans.duties import Duty, duties
from safetyplan.plans.models import DutyDone, ReanalysisTrigger
from safetyplan.plans.queries import versions
from tests.builders import T0, a_lot, at, hours
from tests.cast import PASSWORD, Cast
from tests.records.rules.limits import approve, document
from tests.web import entries, signed_in, text_of

pytestmark = pytest.mark.django_db
NEW = {"trigger": "equipment", "text": "A second vat", "happened_on": "2026-05-14"}
DONE = {"what": "reanalysis:unchanged", "text": "Looked at with the new vat in mind", "done_on": "2026-05-14"}


def get(cast: Cast, name: str = "plan_duties", who: Person | None = None, days: int = 0) -> HttpResponse:
    """Open a page some days later."""
    with at(cast.dairy, hours(5) + timedelta(days=days)):
        return signed_in(who or cast.owner).get(reverse(name, args=[cast.dairy.slug]))


def post(cast: Cast, name: str, typed: dict[str, str], who: Person | None = None) -> HttpResponse:
    """Send a form."""
    with at(cast.dairy, hours(5)):
        return signed_in(who or cast.owner).post(reverse(name, args=[cast.dairy.slug]), typed)


def words(response: HttpResponse) -> str:
    """Give the words of a page in one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", text_of(response)).split())


def listed(cast: Cast, code: str) -> list[Duty]:
    """List the duties of a code as things stand."""
    with at(cast.dairy, hours(6)):
        known = known_of(cast.dairy)
    assert known is not None
    return [duty for duty in duties(known) if duty.code == code]


def test_the_page_lists_what_is_due_with_its_day_and_its_source(working: Cast) -> None:
    page = words(get(working))

    # approved on 13 May 2026 under the profile of Great Britain: twelve months, our own suggestion
    assert "Not yet due Reanalysis of the plan 2027-05-13" in page
    assert "at the latest 12 months after 2026-05-13" in page


def test_what_is_new_is_noted_once_and_listed_until_the_reanalysis_is_signed(working: Cast) -> None:
    assert [post(working, "plan_trigger", NEW, working.maker).status_code for _again in range(2)] == [302] * 2
    assert ReanalysisTrigger.objects.of(working.dairy).count() == 1
    assert "New equipment, 2026-05-14: A second vat." in words(get(working))

    signed = post(working, "plan_duty_sign", {**DONE, "password": PASSWORD})

    page = words(get(working))
    assert signed.status_code == 302
    assert listed(working, "occasion") == []
    assert "the plan stays as it is" in page
    assert "signed by Owner Person" in page


@pytest.mark.parametrize(
    ("name", "typed", "said"),
    [
        ("plan_trigger", {**NEW, "text": " "}, "Say what is new"),
        ("plan_trigger", {**NEW, "happened_on": ""}, "Give the date"),
        ("plan_trigger", {**NEW, "happened_on": "14.5.2026"}, "year-month-day"),
        ("plan_trigger", {**NEW, "happened_on": "2026-06-01"}, "lies in the future"),
        ("plan_duty_sign", {**DONE, "password": "wrong"}, "password does not match"),
        ("plan_duty_sign", {**DONE, "password": PASSWORD, "text": ""}, "Say what was looked at"),
        ("plan_duty_sign", {**DONE, "password": PASSWORD, "done_on": "soon"}, "year-month-day"),
    ],
)
def test_a_refused_form_says_why_keeps_what_was_typed_and_records_nothing(
    working: Cast, name: str, typed: dict[str, str], said: str
) -> None:
    before = entries(working.dairy)

    response = post(working, name, typed)

    page = text_of(response)
    assert response.status_code == 422
    assert said in page
    for value in (typed.get("text", "").strip(), typed.get("happened_on", ""), typed.get("done_on", "")):
        assert value in page
    assert entries(working.dairy) == before


@pytest.mark.parametrize("what", ["", "reanalysis", "status:qualified", "reanalysis:qualified", "x:y"])
def test_a_duty_the_profile_does_not_ask_for_cannot_be_signed(working: Cast, what: str) -> None:
    response = post(working, "plan_duty_sign", {**DONE, "what": what, "password": PASSWORD})

    assert response.status_code == 422
    assert not DutyDone.objects.of(working.dairy).exists()


@pytest.mark.parametrize(
    ("who", "notes", "signs"),
    [("owner", 302, 302), ("maker", 302, 403), ("reviewer", 302, 403), ("inspector", 403, 403)],
)
def test_writers_note_and_the_qualified_sign(working: Cast, who: str, notes: int, signs: int) -> None:
    person = getattr(working, who)

    assert post(working, "plan_trigger", NEW, person).status_code == notes
    assert post(working, "plan_duty_sign", {**DONE, "password": PASSWORD}, person).status_code == signs
    assert get(working, who=person).status_code == 200


def test_a_stranger_finds_no_page(working: Cast) -> None:
    assert get(working, who=working.stranger).status_code == 404
    assert post(working, "plan_trigger", NEW, working.stranger).status_code == 404


def test_today_shows_only_what_is_near_and_the_week_shows_all(working: Cast) -> None:
    far, near = words(get(working, "today")), words(get(working, "today", days=340))

    assert "Due for the plan" not in far
    assert "Reanalysis of the plan" in words(get(working, "week"))
    assert "Due for the plan" in near
    assert "Due Reanalysis of the plan 2027-05-13" in near
    assert "Overdue Reanalysis of the plan 2027-05-13" in words(get(working, "today", days=365))


def test_looking_records_nothing(working: Cast) -> None:
    before = entries(working.dairy)

    for name in ("plan_duties", "today", "week"):
        get(working, name)

    assert entries(working.dairy) == before


def test_without_a_plan_nothing_is_due(cast: Cast) -> None:
    assert "No plan is in force yet" in words(get(cast))
    assert get(cast, "today").status_code == 200
    assert post(cast, "plan_trigger", NEW).status_code == 302


# What the records add ------------------------------------------------------------------------------


def a_deviation(cast: Cast, said: str = "A pane broke") -> Any:
    """Open a deviation that nobody foresaw."""
    plan = versions(cast.dairy)[0].plan()
    with at(cast.dairy, hours(3)):
        return open_unforeseen(establishment=cast.dairy, by=cast.maker, plan=plan, lot=None, description=said)


def understand(cast: Cast, deviation: Any, *, reanalysis: bool) -> None:
    """Record the cause of a deviation, and whether the plan is analysed again."""
    with at(cast.dairy, hours(4)):
        find_cause(
            establishment=cast.dairy,
            by=cast.maker,
            deviation=deviation,
            cause="Old putty",
            prevention="New panes",
            under_control="All panes looked at",
            reanalysis=reanalysis,
            reanalysis_reason="Glass over the vat was not thought of",
        )


def test_a_deviation_that_nobody_foresaw_asks_for_a_reanalysis(working: Cast) -> None:
    a_deviation(working)

    (duty,) = listed(working, "occasion")

    assert "Unforeseen deviation, 2026-05-14: deviation 1: A pane broke." in duty.words


def test_it_asks_no_more_when_its_cause_says_why_not_and_goes_on_when_it_says_so(working: Cast) -> None:
    first, second = a_deviation(working), a_deviation(working, "A gasket tore")
    understand(working, first, reanalysis=False)
    understand(working, second, reanalysis=True)

    (duty,) = listed(working, "occasion")

    assert "deviation 2: Glass over the vat was not thought of" in duty.words


def test_a_critical_point_without_evidence_is_due_before_its_first_lot(cast: Cast) -> None:
    """Great Britain's profile here gives no days of grace: our own suggestion."""
    plan = document()
    plan["validations"] = []
    plan["profile"]["parameters"] = [
        p | ({"value": "90", "reason": "As we know it"} if p["code"] == "validation_days" else {})
        for p in plan["profile"]["parameters"]
    ]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("safetyplan.plans.services._refuse_findings", lambda *_all: None)
        approve(cast, plan, T0.replace(day=13))
    with at(cast.dairy, hours(0.5)):
        a_lot(cast)

    found = listed(cast, "validation")

    # 90 days after 14 May 2026, the day of the first lot
    assert {duty.due_on.isoformat() for duty in found if duty.due_on} == {"2026-08-12"}


@pytest.mark.parametrize("name", ["plan_duties", "today", "week"])
def test_the_pages_need_the_same_queries_however_much_was_noted(working: Cast, name: str) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as seen:
            get(working, name)
        return len(seen)

    post(working, "plan_trigger", NEW)
    one = count()
    for number in range(6):
        post(working, "plan_trigger", {**NEW, "text": f"Vat {number}"})
        post(working, "plan_duty_sign", {**DONE, "text": f"Again {number}", "password": PASSWORD})
    post(working, "plan_trigger", NEW)
    assert count() == one
