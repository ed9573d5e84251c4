"""What pages and prints tell of a lot to which a later plan version was applied."""

import pytest
from django.urls import reverse

from records.batches.models import Lot
from records.checks.models import Reading
from records.deviations.page import control_of
from records.inspection.compose import render_issue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from records.signoff.release import hindrances, release_lot
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.establishments.models import Role
from safetyplan.integrity.refusals import NotAllowed
from tests.builders import T0, at, hours
from tests.cast import Cast
from tests.records.batches.revised import SOUR, a_souring_lot, acid_deviations, apply_to, revise, tightened
from tests.records.batches.test_applying_page import words
from tests.safetyplan.printing.reading import text
from tests.web import signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(working: Cast) -> Lot:
    """Give a lot whose acid was read by the first version and judged again by the second."""
    found = a_souring_lot(working)
    apply_to(working, found, version=revise(working))
    return found


def page(cast: Cast, name: str, *arguments: object) -> str:
    """Give the words of a page."""
    with at(cast.dairy, hours(28)):
        return words(signed_in(cast.owner).get(reverse(name, args=[cast.dairy.slug, *arguments])))


def test_the_lot_and_day_pages_show_the_newest_result_and_both_judgements(working: Cast, lot: Lot) -> None:
    both = "judged again by plan version 2: was outside target, now OUTSIDE LIMIT."

    assert both in page(working, "lot", lot.pk)
    assert both in page(working, "day", T0.replace(day=15).date().isoformat())


def test_the_page_of_the_reading_shows_both_limits(working: Cast, lot: Lot) -> None:
    shown = page(working, "reading", Reading.objects.of(working.dairy).get(control="CCP2").pk)

    assert "because plan version 2 was applied to the lot" in shown
    assert "Plan version 1, judged again by version 2" in shown
    assert "4.60" in shown
    assert "4.50" in shown


def test_the_print_of_the_lot_says_which_version_holds_from_when_and_who_signed_it(
    working: Cast, lot: Lot
) -> None:
    with at(working.dairy, hours(28)):
        issue = issue_print(establishment=working.dairy, by=working.owner, what="lot", subject=str(lot.pk))

    printed = text(kept_bytes(issue))
    assert "version 1 from the start of the lot; version 2 since 2026-05-15 11:00" in printed
    assert "Why: The old acid limit proved too high" in printed
    assert "Applies plan version 2 to the lot" in printed
    assert "and becomes “pH at most 4.50 within 24 h of starter added" in printed
    assert "judged again by plan version 2: was outside target, now OUTSIDE LIMIT" in printed
    assert "plan version 2" in printed


def test_a_print_issued_before_the_act_keeps_its_bytes(working: Cast) -> None:
    lot = a_souring_lot(working)
    with at(working.dairy, hours(26)):
        issue = issue_print(establishment=working.dairy, by=working.owner, what="lot", subject=str(lot.pk))
    apply_to(working, lot, version=revise(working))

    assert render_issue(issue) == kept_bytes(issue)


def test_the_deviation_offers_what_the_new_version_says_to_do(working: Cast, lot: Lot) -> None:
    (deviation,) = acid_deviations(working)

    control = control_of(working.dairy, deviation)

    assert control is not None
    assert isinstance(control.limit, ReachedBy)
    assert str(control.limit.due[0].limit) == "4.50"
    assert f"pH {SOUR}" in page(working, "deviation", deviation.pk)
    assert any("deviation" in said for said in hindrances(working.dairy, lot, hours(28)))


def test_who_releases_a_lot_is_said_by_the_version_it_follows(working: Cast) -> None:
    """The second version lets the reviewer release: the first did not."""
    lot = a_souring_lot(working)
    version = revise(working, {**tightened(), "release_role": Role.REVIEWER})

    def try_release() -> None:
        release_lot(
            establishment=working.dairy,
            proof=working.proof(working.reviewer),
            lot=lot,
            pieces="1",
            mass_typed="0.1",
        )

    with at(working.dairy, hours(26.8)), pytest.raises(NotAllowed):
        try_release()
    apply_to(working, lot, version=version)
    with at(working.dairy, hours(28)), pytest.raises(Exception, match="cannot be released"):
        try_release()
