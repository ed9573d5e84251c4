"""Checks of shared things and rounds on Today, on the day sheet and on paper: each exactly once."""

from datetime import timedelta

from django.urls import reverse

from records.checks.rounds import RoundContent, confirm_round
from records.checks.services import explain_check
from records.inspection.compose import render_issue
from records.inspection.services import issue_print
from records.signoff.groups import groups
from records.signoff.queries import day_sheet
from records.signoff.services import sign_day
from records.things.models import ThingUse
from records.things.services import ChangeContent, change_thing
from records.things.using import end_use
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.queries import zone_of
from tests.builders import T0, a_lot, a_reading, an_event, at, day_slot, hours
from tests.cast import Cast, make_cast
from tests.records.rules.limits import approve
from tests.records.things.plan import WARMTH, daily, with_things
from tests.records.things.stage import a_thing, cast, put_in
from tests.records.things.test_reach import slot
from tests.safetyplan.printing.reading import text
from tests.web import signed_in, text_of

__all__ = ["cast"]  # the fixture


def with_things_at(*points: str):
    """Give the plan with one more check of each room, at several points of it."""
    plan = with_things()
    plan["controls"].append(daily("RM1", WARMTH, rank="prp", each="room", points=points))
    return plan


def sheet(cast: Cast, moment=None):
    return day_sheet(cast.dairy, T0.date(), ZoneTime(zone_of(cast.dairy)), moment or hours(20))


def day_of_work(cast: Cast):
    """Tell of a day: a brine, a room, a lot; some checks made, one round, others missing."""
    with at(cast.dairy, hours(0)):
        brine = a_thing(cast, begun=hours(-2), late_reason="Entered today")
        a_thing(cast, "room", "C2", hours(-2), late_reason="Entered today")
        lot = a_lot(cast, started=hours(-0.2))
        a_reading(cast, slot(brine, 0), hours(0), salt="20.1")
        a_reading(cast, day_slot(T0, "OP3"), hours(0), strength="140")
        confirm_round(
            establishment=cast.dairy,
            by=cast.maker,
            content=RoundContent([day_slot(T0, "OP1", 0), day_slot(T0, "OP1", 1)], hours(0)),
        )
        an_event(cast, lot, "starter_added", hours(0))
        put_in(cast, brine, lot, start=hours(0))
    return brine, lot


def test_every_check_of_the_day_stands_on_its_sheet_exactly_once(cast: Cast) -> None:
    brine, _lot = day_of_work(cast)
    local = ZoneTime(zone_of(cast.dairy))
    with at(cast.dairy, hours(20)):
        found = sheet(cast)
    grouped = [state.slot.id for group in groups(found.states, local) for state in group.states]
    assert sorted(grouped) == sorted({state.slot.id for state in found.states})
    assert {slot(brine, 0), slot(brine, 0, 1), slot(brine, 0, control="BR2")} <= set(grouped)
    stands = {item["slot"]: item["status"] for item in found.expected()}
    assert stands[day_slot(T0, "OP1", 1)] == "by_exception"
    assert stands[day_slot(T0, "OP2", 0)] == "missing"
    assert stands[slot(brine, 0)] == "recorded"


def test_the_day_page_and_the_print_name_every_group_and_the_round(cast: Cast) -> None:
    day_of_work(cast)
    with at(cast.dairy, hours(20)):
        page = text_of(signed_in(cast.reviewer).get(reverse("day", args=[cast.dairy.slug, "2026-05-14"])))
        issue = issue_print(establishment=cast.dairy, by=cast.owner, what="day", subject="2026-05-14")
    paper = " ".join(text(render_issue(issue)).split())
    for said in (
        "Opening",
        "Stores",
        "Cellar and vats",
        "Lot TF-0514",
        "Seen, nothing to note",
        "Used by a lot",
    ):
        assert said in page
        assert said in paper
    assert "by exception" in paper
    assert "B1" in paper


def test_today_lists_the_checks_of_things_and_leads_to_the_round(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        a_thing(cast, begun=hours(-0.1))
        a_thing(cast, "room", "C2", hours(-0.1))
        maker = signed_in(cast.maker)
        page = text_of(maker.get(reverse("today", args=[cast.dairy.slug])))
        seen = text_of(maker.get(reverse("round_now", args=[cast.dairy.slug])))
    assert "B1 The brine" in page
    assert "5 checks may be confirmed at once" in page
    assert "Vat room" in seen
    assert "OP3" not in seen


def settle(cast: Cast) -> None:
    """Explain what was missed, so that the day can be signed."""
    for state in sheet(cast, hours(20)).unexplained():
        explain_check(establishment=cast.dairy, by=cast.maker, slot=state.slot.id, why="Nobody was there")


def test_a_change_in_the_cellar_after_the_signature_reopens_the_day(cast: Cast) -> None:
    brine, _lot = day_of_work(cast)
    with at(cast.dairy, hours(20)):
        settle(cast)
        sign_day(establishment=cast.dairy, proof=cast.proof(cast.reviewer), day=T0.date())
        assert not sheet(cast).needs_signing_again
        content = ChangeContent("skimmed", hours(12), late_reason="Forgotten")
        change_thing(establishment=cast.dairy, by=cast.maker, life=brine, content=content)
        assert sheet(cast).needs_signing_again


def test_a_lot_taken_out_days_later_leaves_the_signed_day_alone(cast: Cast) -> None:
    brine, _lot = day_of_work(cast)
    with at(cast.dairy, hours(20)):
        settle(cast)
        sign_day(establishment=cast.dairy, proof=cast.proof(cast.reviewer), day=T0.date())
    use = ThingUse.objects.of(cast.dairy).select_related("lot").get()
    with at(cast.dairy, hours(49)):
        end_use(establishment=cast.dairy, by=cast.maker, use=use, life=brine, until_at=hours(49))
        assert not sheet(cast).needs_signing_again
        later = day_sheet(cast.dairy, T0.date() + timedelta(days=2), ZoneTime(zone_of(cast.dairy)), hours(49))
    assert [row.until_at for _source, row in later.further] == [hours(49)]


def test_blank_sheets_hold_everything_that_will_be_due_with_a_number_each(cast: Cast) -> None:
    _brine, lot = day_of_work(cast)
    with at(cast.dairy, hours(1)):
        issue = issue_print(establishment=cast.dairy, by=cast.maker, what="blank_day", subject="2026-05-15")
        paper = " ".join(text(render_issue(issue)).split())
    for said in (
        f"{issue.number}-1",
        "Opening",
        "Lot TF-0514",
        "CCP2 Acid at 24 hours",
        "B1",
        "C2",
        "Vat room",
        "seen, in order",
        "A new lot: TF",
        "Starter added",
        "Entered later into the records, by",
    ):
        assert said in paper, said
    assert lot.code in paper


def test_a_room_measured_at_two_points_is_gone_round_as_a_series_of_its_own(db: None) -> None:
    cast = make_cast()
    approve(cast, with_things_at("Top", "Bottom"), T0.replace(day=10))
    with at(cast.dairy, hours(0)):
        here, other = (a_thing(cast, "room", code, hours(-0.1)) for code in ("C1", "C2"))
        maker = signed_in(cast.maker)
        today = text_of(maker.get("/near/today/"))
        page = maker.get(reverse("series", args=["near", slot(here, 0, control="RM1")]))
    assert today.count("RM1 Check RM1: 2 points") == 2
    block = page.context["capture_data"]
    assert [(row["point"], row["slot"]) for row in block["series"]] == [
        ("Top", slot(here, 0, 0, "RM1")),
        ("Bottom", slot(here, 0, 1, "RM1")),
    ]
    assert here.title in text_of(page)
    assert other.title not in text_of(page)
