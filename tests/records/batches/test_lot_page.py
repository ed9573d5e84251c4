"""The page of one lot."""

import pytest

from records.inspection.lot_curve import lot_curve
from tests.builders import a_lot, a_reading, an_event, at, hours, lot_slot
from tests.cast import Cast
from tests.records.inspection.browsing import address, as_person, words
from tests.records.inspection.story import LATE, TWICE, WATCH_SLOW, Story, moved_event, tell

pytestmark = pytest.mark.django_db


@pytest.fixture
def story(working: Cast) -> Story:
    return tell(working)


def test_the_page_tells_the_whole_story(story: Story) -> None:
    with at(story.cast.dairy, hours(81)):
        response = as_person(story.cast.inspector).get(address("lot", story.lot.pk))
    page, markup = words(response), response.content.decode()
    for said in (LATE, TWICE, WATCH_SLOW, "280 pieces, 33.6 kg", "Corner shop", "VOID since"):
        assert said in page
    assert "<del>3.9 °C</del>" in markup
    assert "was outside target, now NOT SHOWN" in page
    assert '<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="img"' in markup
    assert "Releases the lot: signed by Owner Person" in page
    assert "Still here 62 pieces, 7.4 kg" in page
    assert "style=" not in markup


def test_a_maker_is_led_to_what_is_to_be_recorded_and_an_inspector_is_not(story: Story) -> None:
    with at(story.cast.dairy, hours(81)):
        maker = as_person(story.cast.maker).get(address("lot", story.lot.pk)).content.decode()
        inspector = as_person(story.cast.inspector).get(address("lot", story.lot.pk)).content.decode()
    links = (
        address("lot_event", story.lot.pk, "rennet_added"),
        address("event_correct", story.starter.pk),
        address("capture", lot_slot(story.lot, "CCP2", "extra")),
    )
    assert [link in maker for link in links] == [True, True, True]
    assert [link in inspector for link in links] == [False, False, False]
    assert "<form" not in inspector.split('id="main"')[1].split("site-footer")[0]


def test_a_check_that_waits_for_an_event_names_it_as_the_plan_does(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        lot = a_lot(working)
        maker = as_person(working.maker).get(address("lot", lot.pk)).content.decode()
        inspector = as_person(working.inspector).get(address("lot", lot.pk)).content.decode()
    leads = f'<a class="button" href="{address("lot_event", lot.pk, "starter_added")}">Record: Starter added'
    assert leads in maker
    assert leads not in inspector


def test_a_hold_that_nobody_has_confirmed_stands_at_the_top(story: Story) -> None:
    with at(story.cast.dairy, hours(81)):
        page = words(as_person(story.cast.reviewer).get(address("lot", story.other.pk)))
    assert page.index("HOLD REQUIRED") < page.index("Facts")
    assert "What keeps this lot from being released: deviation" in page
    assert "CCP1 Heat treatment is not shown" in page


def test_a_lot_of_another_dairy_and_an_unknown_one_are_not_found(story: Story) -> None:
    stranger = as_person(story.cast.stranger)
    far = story.cast.other_dairy.slug
    with at(story.cast.dairy, hours(81)):
        assert stranger.get(address("lot", story.lot.pk)).status_code == 404
        assert stranger.get(address("lot", story.lot.pk, slug=far)).status_code == 404
        assert as_person(story.cast.maker).get(address("lot", story.deviation.pk)).status_code == 404
        assert as_person(story.cast.maker).get(address("lot", story.lot.pk)).status_code == 200


def test_the_curve_counts_from_the_corrected_event(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(1.9))
        starter = an_event(working, lot, "starter_added", hours(2))
    with at(working.dairy, hours(18)):
        reading = a_reading(working, lot_slot(lot, "OPRP1"), hours(18), ph="5.0").reading
    with at(working.dairy, hours(19)):
        moved = moved_event(working, starter, 60, "Written down too early")
    before = lot_curve(lot, [reading], [starter])
    after = lot_curve(lot, [reading], [moved])
    assert before is not None
    assert after is not None
    points = [
        next(item.x for item in scene.items if item.role == "point" and item.y > 20)  # type: ignore[union-attr]
        for scene in (before, after)
    ]
    assert points[0] > points[1]


def test_without_the_event_there_is_no_curve(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        lot = a_lot(working, started=hours(1))
        page = as_person(working.maker).get(address("lot", lot.pk)).content.decode()
    assert 'class="curve"' not in page
