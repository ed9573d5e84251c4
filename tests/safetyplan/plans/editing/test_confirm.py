"""Screen of the confirmations: figures one by one, what is not validated, who may."""

import json

import pytest

from safetyplan.integrity.verification import verify
from safetyplan.plans.editing.profile_values import block_of
from safetyplan.plans.figures import figures, flow_value
from safetyplan.plans.models import FigureConfirmed
from safetyplan.plans.plan_check import check
from safetyplan.plans.queries import around_of
from safetyplan.reference.profiles import profiles
from tests.builders import at, confirm_all, hours
from tests.cast import PASSWORD, Cast
from tests.safetyplan.plans.editing.confirm_stage import (
    PRESENT,
    SOURCE,
    card,
    confirm,
    figure_of,
    page_of,
    plan_of,
    sign_flow,
    sign_table,
    source_of,
)
from tests.safetyplan.plans.editing.programmes_stage import begun, document, get, send, url
from tests.safetyplan.plans.stage import PLAN, write
from tests.web import entries, signed_in, text_of


def test_every_figure_is_listed_with_its_words_and_where_it_comes_from(cast: Cast) -> None:
    page = page_of(begun(cast))

    for figure in figures(PRESENT):
        part = card(page, figure.name[:1].upper() + figure.name[1:])
        assert "Not confirmed" in part
        assert figure.source in part
        assert all(f"<bdi>{line}</bdi>" in part for line in figure.words)


def test_the_source_is_filled_in_only_where_the_figure_was_read(cast: Cast) -> None:
    controls = document(begun(cast))["controls"]
    controls[0] |= {"provenance": "read", "figure_source": "Annex III"}
    controls[1] |= {"provenance": "memory", "figure_source": "A guide"}
    page = page_of(begun(cast, controls=controls))

    assert source_of(card(page, "CCP1 Heat treatment")) == "Annex III"
    assert source_of(card(page, "CCP2 Acid at 24 hours")) == ""
    assert "from memory: read it before you confirm it" in card(page, "CCP2 Acid at 24 hours")


def test_a_confirmed_figure_moves_behind_the_open_ones_and_says_who_on_what_when(cast: Cast) -> None:
    begun(cast)

    answer = confirm(cast)

    assert answer.status_code == 302
    assert answer["Location"] == f"{url(cast, 'plan_confirm')}#figures"
    page = page_of(cast)
    part = card(page, "CCP1 Heat treatment")
    assert f"Confirmed by Owner Person on {SOURCE}, 2026-05-14." in part
    assert "Confirm it anew" in part
    assert page.index("CCP2 Acid at 24 hours") < page.index("CCP1 Heat treatment")
    assert verify(cast.dairy) == []


def test_a_figure_changed_since_shows_the_earlier_confirmation(cast: Cast) -> None:
    begun(cast)
    confirm(cast)
    controls = document(cast)["controls"]
    controls[0]["limit"]["product_at_least"] = "63.5"

    part = card(page_of(begun(cast, controls=controls)), "CCP1 Heat treatment")

    assert "Changed since" in part
    assert f"The figure changed since Owner Person confirmed it on {SOURCE}, 2026-05-14." in part
    assert "Then it read:" in part
    assert "at least 63 °C" in part
    assert "at least 63.5 °C" in part


def test_the_same_form_sent_twice_confirms_once(cast: Cast) -> None:
    begun(cast)

    assert [confirm(cast).status_code, confirm(cast).status_code] == [302, 302]
    assert FigureConfirmed.objects.of(cast.dairy).count() == 1


@pytest.mark.parametrize(
    ("source", "message"),
    [
        ("", "Say where you read the figure"),
        ("x" * 501, "at most 500 characters"),
        ("\ufffe", "character that cannot be kept"),
    ],
)
def test_a_source_that_is_missing_or_odd_is_refused_at_its_figure(
    cast: Cast, source: str, message: str
) -> None:
    begun(cast)
    before = entries(cast.dairy)

    answer = confirm(cast, source=source)

    assert answer.status_code == 422
    assert message in card(text_of(answer), "CCP1 Heat treatment")
    assert entries(cast.dairy) == before


def test_a_figure_that_changed_meanwhile_is_refused_and_shown_as_it_now_stands(cast: Cast) -> None:
    begun(cast)
    seen = figure_of(cast, "limit:CCP1").value
    controls = document(cast)["controls"]
    controls[0]["limit"]["product_at_least"] = "63.5"
    begun(cast, controls=controls)

    answer = confirm(cast, value=seen, source="What I had typed")

    part = card(text_of(answer), "CCP1 Heat treatment")
    assert answer.status_code == 409
    assert "The figure changed meanwhile." in part
    assert source_of(part) == "What I had typed"
    assert "at least 63.5 °C" in part
    assert not FigureConfirmed.objects.of(cast.dairy).exists()
    assert confirm(cast, source="What I had typed").status_code == 302


def test_a_figure_that_is_gone_is_refused_and_what_was_typed_is_shown(cast: Cast) -> None:
    begun(cast)

    answer = send(cast, "plan_confirm_figure", what="limit:CCP9", value="{}", source="What I had typed")

    assert answer.status_code == 409
    assert "The figure changed meanwhile." in text_of(answer)
    assert "What I had typed" in text_of(answer)


def test_an_own_figure_shows_what_the_profile_says(cast: Cast) -> None:
    profile = block_of(profiles()["us_full"])
    own = next(one for one in profile["parameters"] if one["code"] == "review_days")
    own |= {"value": "14", "unit": "days", "provenance": "own", "citation": "", "reason": "Closed in winter"}

    part = card(
        page_of(begun(cast, profile=profile)),
        "Review of monitoring and corrective-action records, within",
    )

    assert "the profile says 7 working days" in part
    assert source_of(part) == ""


def test_what_is_not_validated_is_listed(cast: Cast) -> None:
    validations = [
        {"code": "W1", "kind": "trial", "text": "T", "controls": ["CCP1"], "valid_until": "2026-05-13"},
        {"code": "W2", "kind": "trial", "text": "T", "controls": ["CCP2"], "valid_until": "2026-05-14"},
    ]
    page = page_of(begun(cast, validations=validations))

    listed = page.split('id="not-validated"')[1]
    assert "CCP1 Heat treatment</bdi> (Critical control point); W1 expired on 2026-05-13" in listed
    assert "CCP2" not in listed
    assert "OPRP1" in listed
    assert "PRP1 Cold store" not in listed.replace("OPRP1", "")


def test_without_a_draft_the_newest_approved_version_is_confirmed(working: Cast) -> None:
    page = page_of(working)
    figure = figures(PRESENT)[0]
    with at(working.dairy, hours(1)):
        answer = signed_in(working.owner).post(
            url(working, "plan_confirm_figure"),
            {"what": figure.what, "value": figure.value, "source": "Read again"},
        )

    assert "There is no draft. These are the figures of version 1." in page
    assert url(working, "plan_programmes") not in page
    assert answer.status_code == 302
    newest = FigureConfirmed.objects.of(working.dairy).order_by("-entry__sequence").first()
    assert newest.source == "Read again"


def test_without_any_plan_there_is_nothing_to_confirm(cast: Cast) -> None:
    assert get(cast, cast.owner, "plan_confirm").status_code == 404
    assert send(cast, "plan_confirm_targets", value="{}").status_code == 404


@pytest.mark.parametrize(
    ("who", "read_status", "write_status"),
    [
        ("owner", 200, 302),
        ("maker", 200, 403),
        ("reviewer", 200, 403),
        ("inspector", 200, 403),
        ("stranger", 404, 404),
    ],
)
def test_the_responsible_person_or_a_qualified_individual_confirms(
    cast: Cast, who: str, read_status: int, write_status: int
) -> None:
    begun(cast)
    person = getattr(cast, who)
    before = entries(cast.dairy)
    figure = figure_of(cast, "limit:CCP1")
    typed = {"what": figure.what, "value": figure.value, "source": SOURCE}

    assert get(cast, person, "plan_confirm").status_code == read_status
    assert entries(cast.dairy) == before
    assert send(cast, "plan_confirm_figure", by=person, **typed).status_code == write_status
    assert sign_table(cast, by=person).status_code == write_status
    assert sign_flow(cast, by=person).status_code == write_status
    assert (entries(cast.dairy) == before) == (write_status != 302)


@pytest.mark.parametrize("who", ["maker", "inspector"])
def test_whoever_does_not_confirm_sees_no_button_for_it(cast: Cast, who: str) -> None:
    begun(cast)

    assert 'name="source"' not in page_of(cast, who)
    assert 'name="password"' not in page_of(cast, who)
    assert 'name="source"' in page_of(cast)


def test_after_everything_is_confirmed_the_plan_check_asks_for_no_confirmation(cast: Cast) -> None:
    begun(cast)
    for figure in figures(PRESENT):
        assert confirm(cast, figure.what).status_code == 302
    sign_table(cast)
    for product in PRESENT.products:
        typed = {"value": flow_value(product), "note": "Walked", "password": PASSWORD}
        assert send(cast, "plan_confirm_flow", product.code, **typed).status_code == 302

    with at(cast.dairy, hours(2)):
        found = {finding.id for finding in check(plan_of(cast), around_of(cast.dairy))}
    page = page_of(cast)

    assert not found & {"P018", "P019", "P020"}
    assert "All figures are confirmed" in page
    assert "No figure is left to confirm." in page


def test_a_code_that_fits_into_no_address_can_still_be_confirmed(cast: Cast) -> None:
    data = json.loads(PLAN)
    data["controls"] = [data["controls"][0] | {"code": "CCP/1"}]
    data["hazards"], data["verifications"], data["validations"] = [], [], []
    write(cast, json.dumps(data))

    assert confirm(cast, "limit:CCP/1").status_code == 302


def test_a_limit_stands_beside_the_figure_of_the_profile_that_it_answers_to(cast: Cast) -> None:
    controls = document(begun(cast))["controls"]
    controls[0]["parameter"] = "milk_temperature_most"
    page = page_of(begun(cast, controls=controls, profile=block_of(profiles()["us_full"])))

    assert "<bdi>Milk at receipt at most: 45 °F</bdi>" in card(page, "CCP1 Heat treatment")
    assert "Rules of the place:" not in card(page, "CCP2 Acid at 24 hours")


def test_opening_the_screen_writes_nothing(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        confirm_all(working)
    before = entries(working.dairy)

    page_of(working)

    assert entries(working.dairy) == before
