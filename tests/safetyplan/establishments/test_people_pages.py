"""People, their training and devices, and the details of the establishment."""

from typing import Any

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from safetyplan.establishments.models import Person, Role, Training
from safetyplan.establishments.queries import details_of, live_credentials, membership_of, roles_of
from tests.builders import a_device, at, hours
from tests.cast import Cast, _person
from tests.web import entries, signed_in, text_of

NEW = {
    "username": "new.person",
    "password": "a-long-enough-word-7",
    "printed_name": "New Person",
    "initials": "NP",
    "roles": ["maker"],
    "inspector_until": "",
}
MAKER = {
    "printed_name": "Maker Person",
    "initials": "MK",
    "roles": ["maker"],
    "inspector_until": "",
    "active": "on",
    "reason": "",
}
TRAINED = {"trained_on": "2025-03-04", "training_type": "Hygiene course", "provider": "County college"}
DETAILS = {
    "name": "Near Test Dairy",
    "address": "1 Test Lane, Testford",
    "registration_number": "TD 1",
    "time_zone": "Europe/Dublin",
    "temperature_unit": "degC",
    "volume_unit": "L",
    "mass_unit": "kg",
    "paper": "A4",
    "regulatory_profile": "",
    "self_review_reason": "",
}


def url(cast: Cast, name: str, *more: object) -> str:
    """Give an address of the dairy."""
    return reverse(name, args=[cast.dairy.slug, *more])


def post(cast: Cast, by: Person, name: str, /, *more: object, **typed: Any) -> HttpResponse:
    """Send a form."""
    with at(cast.dairy, hours(1)):
        return signed_in(by).post(url(cast, name, *more), typed)


def get(cast: Cast, by: Person, name: str, *more: object) -> HttpResponse:
    """Open a page."""
    with at(cast.dairy, hours(1)):
        return signed_in(by).get(url(cast, name, *more))


def test_a_new_person_can_sign_in_with_the_roles_given(cast: Cast) -> None:
    answer = post(cast, cast.owner, "person_add", **{**NEW, "roles": ["maker", "reviewer"]})

    person = Person.objects.get(username="new.person")
    member = membership_of(cast.dairy, person)
    assert answer.status_code == 302
    assert person.check_password(NEW["password"])
    assert member is not None
    assert roles_of(member) == ["maker", "reviewer"]


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"username": "maker-near"}, "This sign-in name is taken."),
        ({"username": "New Person"}, "may hold small letters"),
        ({"password": "short"}, "too short"),
        ({"password": "password"}, "too common"),
        ({"printed_name": ""}, "Give the name as it is printed on records."),
        ({"printed_name": "maker person"}, "Another person already has this printed name."),
        ({"initials": "mk"}, "Another person already has these initials."),
        ({"initials": ""}, "Give one to six letters as initials."),
        ({"roles": []}, "Choose at least one role."),
        ({"roles": ["king"]}, "Select a valid choice"),
        ({"roles": ["inspector"]}, "access needs an end date."),
        ({"roles": ["inspector"], "inspector_until": "tomorrow"}, "Write the date as year-month-day"),
        ({"roles": ["inspector"], "inspector_until": "20261201"}, "Write the date as year-month-day"),
    ],
)
def test_a_person_who_cannot_be_added_is_refused_and_what_was_typed_stays(
    cast: Cast, changed: dict[str, Any], message: str
) -> None:
    typed = {**NEW, **changed}
    before = entries(cast.dairy)

    answer = post(cast, cast.owner, "person_add", **typed)

    page = text_of(answer)
    kept = (typed["username"], typed["printed_name"], typed["initials"], typed["inspector_until"])
    assert answer.status_code == 422
    assert message in page
    assert all(f'value="{text}"' in page for text in kept if text)
    assert NEW["password"] not in page
    assert entries(cast.dairy) == before
    assert post(cast, cast.owner, "person_add", **NEW).status_code == 302


def test_roles_change_with_a_reason_and_the_history_stays(cast: Cast) -> None:
    typed = {**MAKER, "roles": ["maker", "reviewer"]}

    refused = post(cast, cast.owner, "person", cast.maker.pk, **typed)
    taken = post(cast, cast.owner, "person", cast.maker.pk, **{**typed, "reason": "Trained as a reviewer"})

    member = membership_of(cast.dairy, cast.maker)
    page = text_of(get(cast, cast.inspector, "person", cast.maker.pk))
    assert refused.status_code == 422
    assert "Give a reason (at least three letters)." in text_of(refused)
    assert 'value="reviewer" id="id_roles_1" checked' in text_of(refused)
    assert taken.status_code == 302
    assert member is not None
    assert roles_of(member) == ["maker", "reviewer"]
    assert "Trained as a reviewer" in page


def test_a_person_made_inactive_is_shut_out_and_keeps_the_name(cast: Cast) -> None:
    typed = {name: value for name, value in MAKER.items() if name != "active"}

    post(cast, cast.owner, "person", cast.maker.pk, **{**typed, "reason": "Left the dairy"})

    assert get(cast, cast.maker, "people").status_code == 404
    assert "Maker Person" in text_of(get(cast, cast.owner, "people"))
    assert "Not active" in text_of(get(cast, cast.owner, "people"))


def test_somebody_stays_administrator(cast: Cast) -> None:
    typed = {**MAKER, "printed_name": "Owner Person", "initials": "OW", "reason": "Less work"}

    refused = post(cast, cast.owner, "person", cast.owner.pk, **typed)
    post(
        cast,
        cast.owner,
        "person",
        cast.maker.pk,
        **{**MAKER, "roles": ["administrator"], "reason": "Takes over"},
    )
    taken = post(cast, cast.owner, "person", cast.owner.pk, **typed)

    assert refused.status_code == 409
    assert "Somebody must stay administrator" in text_of(refused)
    assert "Less work" in text_of(refused)
    assert taken.status_code == 302


def test_nothing_changed_is_no_record(cast: Cast) -> None:
    before = entries(cast.dairy)

    of_person = post(cast, cast.owner, "person", cast.maker.pk, **MAKER)
    of_dairy = post(cast, cast.owner, "details", **DETAILS)

    assert [of_person.status_code, of_dairy.status_code] == [302, 302]
    assert entries(cast.dairy) == before


def test_an_inspectors_access_ends_on_its_day(cast: Cast) -> None:
    typed = {
        "printed_name": "Inspector Person",
        "initials": "IN",
        "roles": ["inspector"],
        "active": "on",
        "reason": "Inspection is over",
    }
    post(cast, cast.owner, "person", cast.inspector.pk, **typed, inspector_until="2026-05-13")

    answer = get(cast, cast.inspector, "people")

    assert answer.status_code == 404
    assert "Access ended" in text_of(get(cast, cast.owner, "people"))


def test_a_training_is_recorded_once(cast: Cast) -> None:
    answers = [post(cast, cast.owner, "training_add", cast.maker.pk, **TRAINED) for _again in range(2)]

    page = text_of(get(cast, cast.inspector, "person", cast.maker.pk))
    assert [answer.status_code for answer in answers] == [302, 302]
    assert Training.objects.of(cast.dairy).count() == 1
    assert "Hygiene course" in page
    assert "2025-03-04" in page


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"trained_on": ""}, "Give the date of the training."),
        ({"trained_on": "2026-02-30"}, "Write the date as year-month-day"),
        ({"trained_on": "2026-12-01"}, "lies in the future."),
        ({"training_type": ""}, "Say what kind of training it was."),
    ],
)
def test_a_training_that_lacks_something_is_refused(
    cast: Cast, changed: dict[str, str], message: str
) -> None:
    answer = post(cast, cast.owner, "training_add", cast.maker.pk, **{**TRAINED, **changed})

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert 'value="County college"' in text_of(answer)
    assert not Training.objects.of(cast.dairy).exists()
    assert post(cast, cast.owner, "training_add", cast.maker.pk, **TRAINED).status_code == 302


@pytest.mark.parametrize("who", ["owner", "maker"])
def test_a_lost_device_is_signed_off_by_its_person_or_an_administrator(cast: Cast, who: str) -> None:
    phone = a_device(cast.dairy, cast.maker)

    answer = post(cast, getattr(cast, who), "credential_revoke", phone.credential.pk, reason="Lost")

    assert answer.status_code == 302
    assert not live_credentials(cast.dairy).exists()


def test_nobody_else_signs_a_device_off(cast: Cast) -> None:
    phone = a_device(cast.dairy, cast.maker)

    answer = post(cast, cast.helper, "credential_revoke", phone.credential.pk, reason="Lost")

    assert answer.status_code == 403
    assert live_credentials(cast.dairy).exists()


def test_a_device_is_signed_off_once(cast: Cast) -> None:
    phone = a_device(cast.dairy, cast.maker)
    post(cast, cast.owner, "credential_revoke", phone.credential.pk, reason="Lost")

    answer = post(cast, cast.owner, "credential_revoke", phone.credential.pk, reason="Lost")

    assert answer.status_code == 409
    assert "This device was already signed off." in text_of(answer)


def test_devices_of_others_offer_no_button(cast: Cast) -> None:
    a_device(cast.dairy, cast.maker)

    page = text_of(get(cast, cast.helper, "person", cast.maker.pk))

    assert "Test phone" in page
    assert "Sign this device off" not in page
    assert "maker-near" not in page


def test_new_details_count_from_now_on(cast: Cast) -> None:
    answer = post(
        cast,
        cast.owner,
        "details",
        **{**DETAILS, "temperature_unit": "degF", "self_review_reason": "Only one person works on Sundays"},
    )

    found = details_of(cast.dairy)
    assert answer.status_code == 302
    assert found.temperature_unit == "degF"
    assert found.self_review_allowed is True
    assert "Only one person works on Sundays" in text_of(get(cast, cast.inspector, "details"))


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"name": ""}, "Give the establishment&#x27;s name."),
        ({"address": ""}, "Give the establishment&#x27;s address"),
        ({"time_zone": "Mars/Base"}, "Choose a time zone from the list"),
        ({"time_zone": ""}, "Choose a time zone from the list"),
        ({"paper": "A5"}, "Select a valid choice"),
        ({"mass_unit": ""}, "Choose one of the units or sizes offered."),
    ],
)
def test_details_that_cannot_be_right_are_refused(cast: Cast, changed: dict[str, str], message: str) -> None:
    typed = {**DETAILS, "registration_number": "TD 99", **changed}

    answer = post(cast, cast.owner, "details", **typed)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert 'value="TD 99"' in page
    assert details_of(cast.dairy).registration_number == "TD 1"
    assert post(cast, cast.owner, "details", **{**DETAILS, "registration_number": "TD 99"}).status_code == 302


WRITTEN: dict[str, set[str]] = {
    "person_add": {"owner"},
    "person": {"owner"},
    "training_add": {"owner"},
    "details": {"owner"},
}


@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector", "stranger"])
@pytest.mark.parametrize("name", sorted(WRITTEN))
def test_people_are_changed_by_those_whose_role_allows(cast: Cast, name: str, who: str) -> None:
    more = [cast.maker.pk] if name in ("person", "training_add") else []
    before = entries(cast.dairy)

    answer = post(cast, getattr(cast, who), name, *more)

    refused = 404 if who == "stranger" else 403
    assert (answer.status_code == refused) is (who not in WRITTEN[name])
    assert entries(cast.dairy) == before


@pytest.mark.parametrize("who", ["owner", "maker", "inspector"])
def test_reading_about_people_writes_nothing(cast: Cast, who: str) -> None:
    before = entries(cast.dairy)

    pages = [
        get(cast, getattr(cast, who), "people"),
        get(cast, getattr(cast, who), "person", cast.maker.pk),
        get(cast, getattr(cast, who), "details"),
    ]

    assert [page.status_code for page in pages] == [200, 200, 200]
    assert entries(cast.dairy) == before


def test_a_person_of_another_dairy_is_not_found(cast: Cast) -> None:
    assert get(cast, cast.owner, "person", cast.stranger.pk).status_code == 404
    assert get(cast, cast.stranger, "person", cast.maker.pk).status_code == 404


def test_the_list_of_people_asks_the_database_as_often_for_many_as_for_few(cast: Cast) -> None:
    get(cast, cast.owner, "people")
    with CaptureQueriesContext(connection) as few:
        get(cast, cast.owner, "people")
    for number in range(6):
        _person(cast.dairy, cast.owner, f"extra{number}", f"E{number}", Role.MAKER)

    with CaptureQueriesContext(connection) as many:
        get(cast, cast.owner, "people")

    assert len(many) == len(few)
