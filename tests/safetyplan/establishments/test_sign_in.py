"""Signing in and out, the slower guessing, the first run, and where the start page leads."""

import logging
import stat
from datetime import timedelta
from http import HTTPStatus

import pytest
from django.test import Client
from django.utils import timezone

from safetyplan.establishments import first_run
from safetyplan.establishments.models import Establishment, Person, Role, SignInTry
from safetyplan.establishments.queries import membership_of, roles_of
from safetyplan.establishments.services import MemberSpec, add_person
from safetyplan.establishments.sign_in import wait_after
from safetyplan.integrity.models import Entry
from tests.cast import PASSWORD, Cast

SECURITY = "safetyplan.security"
FIRST = {
    "name": "Alder Test Dairy",
    "address": "2 Test Lane",
    "registration_number": "",
    "slug": "",
    "time_zone": "Europe/Dublin",
    "temperature_unit": "degC",
    "volume_unit": "L",
    "mass_unit": "kg",
    "paper": "A4",
    "printed_name": "First Person",
    "initials": "FP",
    "roles": ["administrator", "responsible", "qualified", "reviewer", "maker"],
    "username": "first",
    "password": PASSWORD,
    "password_again": PASSWORD,
}


def enter(client: Client, name: str, password: str = PASSWORD, **more: str) -> int:
    """Send the sign-in form."""
    return client.post("/sign-in/", {"username": name, "password": password, **more}).status_code


def fail(client: Client, name: str, times: int) -> None:
    """Try a wrong password several times."""
    for _ in range(times):
        enter(client, name, "wrong")


def test_the_right_password_signs_in_and_leads_to_today(cast: Cast, client: Client) -> None:
    answer = client.post("/sign-in/", {"username": "maker-near", "password": PASSWORD}, follow=False)
    assert answer.status_code == HTTPStatus.FOUND
    assert answer["Location"] == "/"
    assert client.get("/")["Location"] == "/near/today/"


def test_a_wrong_password_keeps_the_typed_name_and_gives_no_detail(cast: Cast, client: Client) -> None:
    answer = client.post("/sign-in/", {"username": "maker-near", "password": "wrong"})
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    text = answer.content.decode()
    assert 'value="maker-near"' in text
    assert "wrong" not in text
    assert "_auth_user_id" not in client.session


def test_an_unknown_name_and_a_wrong_password_are_told_the_same(cast: Cast, client: Client) -> None:
    known = client.post("/sign-in/", {"username": "maker-near", "password": "wrong"}).context["form"]
    unknown = client.post("/sign-in/", {"username": "nobody", "password": "wrong"}).context["form"]
    assert known.non_field_errors() == unknown.non_field_errors()


def test_a_name_typed_with_capitals_and_blanks_signs_in(cast: Cast, client: Client) -> None:
    assert enter(client, " Maker-Near ") == HTTPStatus.FOUND


def test_a_person_who_is_no_longer_active_cannot_sign_in(cast: Cast, client: Client) -> None:
    Person.objects.filter(pk=cast.maker.pk).update(is_active=False)
    assert enter(client, "maker-near") == HTTPStatus.UNPROCESSABLE_ENTITY
    assert enter(client, "helper-near") == HTTPStatus.FOUND


def test_an_empty_form_is_sent_back_and_is_no_try(cast: Cast, client: Client) -> None:
    assert enter(client, "", "") == HTTPStatus.UNPROCESSABLE_ENTITY
    assert SignInTry.objects.count() == 0


@pytest.mark.parametrize("address", ["https://elsewhere.test/", "//elsewhere.test/", "javascript:alert(1)"])
def test_the_return_address_is_never_another_host(cast: Cast, client: Client, address: str) -> None:
    answer = client.post("/sign-in/", {"username": "maker-near", "password": PASSWORD, "next": address})
    assert answer["Location"] == "/"


def test_the_return_address_on_this_host_is_followed(cast: Cast, client: Client) -> None:
    form = client.get("/sign-in/?next=/near/lots/")
    assert 'name="next" value="/near/lots/"' in form.content.decode()
    answer = client.post("/sign-in/", {"username": "maker-near", "password": PASSWORD, "next": "/near/lots/"})
    assert answer["Location"] == "/near/lots/"


@pytest.mark.parametrize("signed_in_before", [False, True])
def test_the_session_id_is_renewed_at_sign_in(cast: Cast, client: Client, signed_in_before: bool) -> None:
    if signed_in_before:
        client.force_login(cast.maker)
    else:
        client.session.save()
    before = client.session.session_key
    enter(client, "maker-near")
    assert client.session.session_key != before


def test_signing_out_needs_a_post_and_ends_the_session(cast: Cast, client: Client) -> None:
    client.force_login(cast.maker)
    assert client.get("/sign-out/").status_code == HTTPStatus.METHOD_NOT_ALLOWED
    assert "_auth_user_id" in client.session
    client.post("/sign-out/")
    assert "_auth_user_id" not in client.session


@pytest.mark.parametrize(
    ("failed", "seconds"),
    [(0, 0), (4, 0), (5, 1), (6, 2), (7, 4), (8, 8), (14, 512), (15, 900), (16, 900), (5000, 900)],
)
def test_the_wait_doubles_up_to_fifteen_minutes(failed: int, seconds: int) -> None:
    # Worked by hand: 2 ** (failed - 5) seconds, at most 900.
    assert wait_after(failed) == timedelta(seconds=seconds)


def test_five_tries_are_free_and_the_sixth_waits(cast: Cast, client: Client) -> None:
    fail(client, "maker-near", 4)
    assert enter(client, "maker-near", "wrong") == HTTPStatus.UNPROCESSABLE_ENTITY
    assert enter(client, "maker-near") == HTTPStatus.TOO_MANY_REQUESTS
    assert "_auth_user_id" not in client.session


def test_after_the_wait_the_right_password_signs_in_and_clears_the_count(cast: Cast, client: Client) -> None:
    fail(client, "maker-near", 5)
    SignInTry.objects.update(last_at=timezone.now() - timedelta(seconds=2))
    assert enter(client, "maker-near") == HTTPStatus.FOUND
    assert not SignInTry.objects.filter(username="maker-near").exists()


def test_a_try_during_the_wait_does_not_lengthen_it(cast: Cast, client: Client) -> None:
    fail(client, "maker-near", 5)
    before = SignInTry.objects.get().failed
    enter(client, "maker-near", "wrong")
    assert SignInTry.objects.get().failed == before == 5


def test_failed_tries_of_one_name_do_not_slow_another(cast: Cast, client: Client) -> None:
    fail(client, "maker-near", 6)
    assert enter(client, "helper-near") == HTTPStatus.FOUND


def test_counts_older_than_a_day_are_forgotten(cast: Cast, client: Client) -> None:
    fail(client, "nobody", 5)
    SignInTry.objects.update(last_at=timezone.now() - timedelta(hours=25))
    enter(client, "maker-near", "wrong")
    assert list(SignInTry.objects.values_list("username", "failed")) == [("maker-near", 1)]


def test_the_security_log_tells_failed_and_good_tries(
    cast: Cast, client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO, logger=SECURITY):
        enter(client, "maker-near", "wrong")
        enter(client, "maker-near")
    told = [record.getMessage() for record in caplog.records if record.name == SECURITY]
    assert told == [
        "sign-in failed: name=maker-near address=127.0.0.1",
        "sign-in ok: name=maker-near address=127.0.0.1",
    ]


def test_a_name_with_line_breaks_stays_on_one_line_of_the_log(
    cast: Cast, client: Client, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO, logger=SECURITY):
        enter(client, "x\r\nsign-in ok: name=owner", "wrong")
    [line] = [record.getMessage() for record in caplog.records if record.name == SECURITY]
    assert "\r" not in line
    assert "\n" not in line
    assert "x\\r\\nsign-in ok" in line


def test_the_start_page_needs_a_sign_in(client: Client, db: None) -> None:
    assert client.get("/")["Location"] == "/sign-in/?next=/"


def test_a_person_of_two_establishments_chooses_one(cast: Cast, client: Client) -> None:
    member = MemberSpec("Maker Person", "MK", (Role.MAKER,))
    row = add_person(
        establishment=cast.other_dairy, by=cast.stranger, username="both", password=PASSWORD, member=member
    )
    client.force_login(row.person)
    assert client.get("/")["Location"] == "/near-far/today/"


def test_a_stranger_to_every_establishment_is_told_so(db: None, client: Client) -> None:
    client.force_login(Person.objects.create_person(username="alone", password=PASSWORD))
    answer = client.get("/")
    assert answer.status_code == HTTPStatus.OK
    assert "no access to an establishment" in answer.content.decode()


# The first run -------------------------------------------------------------------------------------


def test_the_token_is_kept_for_its_owner_only_and_used_up(db: None) -> None:
    token = first_run.new_token()
    assert stat.S_IMODE(first_run.token_file().stat().st_mode) == 0o600
    assert first_run.token_matches(token)
    assert not first_run.token_matches(token + "x")
    first_run.finish()
    assert not first_run.token_matches(token)


def test_a_new_token_takes_the_place_of_the_old_one(db: None) -> None:
    old, new = first_run.new_token(), first_run.new_token()
    assert first_run.token_matches(new)
    assert not first_run.token_matches(old)


def test_the_first_run_opens_a_real_establishment_and_signs_in(db: None, client: Client) -> None:
    token = first_run.new_token()
    answer = client.post(f"/first-run/{token}/", FIRST)
    dairy = Establishment.objects.get()
    assert answer["Location"] == "/alder-test-dairy/plan/"
    assert not dairy.demonstration
    assert not first_run.token_file().exists()
    person = Person.objects.get(username="first")
    assert client.session["_auth_user_id"] == str(person.pk)
    membership = membership_of(dairy, person)
    assert membership is not None
    assert roles_of(membership) == sorted(FIRST["roles"])


def test_the_first_person_is_always_administrator(db: None, client: Client) -> None:
    client.post(f"/first-run/{first_run.new_token()}/", {**FIRST, "roles": ["maker"]})
    membership = membership_of(Establishment.objects.get(), Person.objects.get())
    assert membership is not None
    assert roles_of(membership) == ["administrator", "maker"]


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("name", "", "required"),
        ("time_zone", "", "required"),
        ("slug", "Has Blanks", "small letters"),
        ("initials", "F.P", "one to six letters"),
        ("username", "first person", "small letters"),
        ("password", "12345678", "too common"),
        ("password_again", "another", "differ"),
        ("roles", [], "required"),
    ],
)
def test_a_first_run_that_cannot_be_taken_keeps_what_was_typed(
    db: None, client: Client, field: str, typed: object, message: str
) -> None:
    changed = {**FIRST, field: typed}
    if field == "password":
        changed["password_again"] = typed  # type: ignore[assignment]
    answer = client.post(f"/first-run/{first_run.new_token()}/", changed)
    assert answer.status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert message in str(answer.context["form"].errors[field])
    assert 'value="2 Test Lane"' in answer.content.decode()
    assert Establishment.objects.count() == Person.objects.count() == 0


def test_the_first_run_is_not_found_without_the_token(db: None, client: Client) -> None:
    token = first_run.new_token()
    assert client.get("/first-run/wrong/").status_code == HTTPStatus.NOT_FOUND
    assert client.get(f"/first-run/{token}/").status_code == HTTPStatus.OK


def test_the_first_run_is_not_found_once_there_is_an_establishment(cast: Cast, client: Client) -> None:
    token = first_run.new_token()
    assert client.get(f"/first-run/{token}/").status_code == HTTPStatus.NOT_FOUND
    assert client.post(f"/first-run/{token}/", FIRST).status_code == HTTPStatus.NOT_FOUND
    assert not Person.objects.filter(username="first").exists()


def test_a_name_that_is_a_page_of_the_site_is_changed(db: None) -> None:
    assert first_run.short_name("", "Static") == "static-dairy"
    assert first_run.short_name("", "Ælder Fêrm & Co") == "lder-ferm-co"
    assert first_run.short_name("", "木") == "dairy"


def test_pages_of_signing_in_write_no_record(cast: Cast, client: Client) -> None:
    before = Entry._base_manager.count()
    for address in ("/", "/sign-in/", "/sign-in/?next=/near/today/", "/first-run/x/"):
        client.get(address)
    assert Entry._base_manager.count() == before
