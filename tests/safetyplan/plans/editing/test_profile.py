"""Screens of the regulatory profile: its figures, one changed with a reason, put back, another profile."""

import json
from typing import Any

import pytest

from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.document import read
from safetyplan.plans.editing.profile_values import (
    UNIT_WORDS,
    UNITS_OF,
    block_of,
    differences,
    name_of,
    read_value,
)
from safetyplan.reference.profiles import PARAMETERS, profiles
from tests.cast import Cast
from tests.safetyplan.plans.editing.programmes_stage import begun, document, get, send, url
from tests.safetyplan.plans.stage import PLAN, draft_of, write
from tests.web import entries, text_of

OWN = {"value": "14", "unit": "days", "citation": "", "reason": "We are closed in winter"}


def with_profile(cast: Cast, code: str = "us_full") -> Cast:
    """Write the plan with a profile as the draft."""
    return begun(cast, profile=block_of(profiles()[code]))


def figure(cast: Cast, code: str = "review_days") -> dict[str, Any]:
    """Give a figure of the draft's profile."""
    found: dict[str, Any] = next(p for p in document(cast)["profile"]["parameters"] if p["code"] == code)
    return found


@pytest.mark.parametrize("code", list(profiles()))
def test_every_figure_of_a_profile_is_shown_with_source_provenance_and_day(cast: Cast, code: str) -> None:
    page = text_of(get(with_profile(cast, code), cast.inspector, "plan_profile"))

    profile = profiles()[code]
    assert profile.name in page
    assert f"read on {profile.read_on}" in page
    for parameter in profile.parameters:
        assert name_of(parameter.code).replace("'", "&#x27;") in page
        assert parameter.citation.replace("'", "&#x27;") in page
    assert "local regulator: they have the last word" in page
    assert "read in the source" in page


def test_a_plan_without_a_profile_offers_to_choose_one(cast: Cast) -> None:
    data = json.loads(PLAN)
    data.pop("profile", None)
    write(cast, json.dumps(data))

    page = text_of(get(cast, cast.owner, "plan_profile"))

    assert "names no regulatory profile yet" in page
    assert url(cast, "plan_profile_change") in page


def test_a_changed_figure_is_the_makers_own_and_the_profiles_stays_beside_it(cast: Cast) -> None:
    with_profile(cast)

    answer = send(cast, "plan_parameter", "review_days", **OWN)

    assert answer.status_code == 302
    found = figure(cast)
    assert [found["value"], found["unit"], found["provenance"]] == ["14", "days", "own"]
    assert [found["citation"], found["reason"]] == ["", "We are closed in winter"]
    page = text_of(get(cast, cast.owner, "plan_profile"))
    assert "14 days" in page
    assert "the profile says 7 working days" in page
    assert "We are closed in winter" in page
    assert "chosen here" in page


def test_a_changed_figure_can_be_put_back(cast: Cast) -> None:
    before = figure(with_profile(cast))
    send(cast, "plan_parameter", "review_days", **OWN)

    asked = text_of(get(cast, cast.owner, "plan_parameter", "review_days"))
    answer = send(cast, "plan_parameter_back", "review_days")

    assert "Put it back to what the profile says: 7 working days" in asked
    assert answer.status_code == 302
    assert figure(cast) == before


@pytest.mark.parametrize(
    ("code", "typed", "message"),
    [
        ("review_days", OWN | {"reason": ""}, "Give a reason"),
        ("review_days", OWN | {"reason": "ab"}, "Give a reason"),
        ("review_days", OWN | {"value": ""}, "Give the figure."),
        ("review_days", OWN | {"value": "seven"}, "digits"),
        ("review_days", OWN | {"value": "7.5"}, "whole"),
        ("review_days", OWN | {"unit": "years"}, "years is not one of the available"),
        ("review_days", OWN | {"unit": ""}, "Choose a unit."),
        ("review_days", {**OWN, "value": "7", "unit": "working days"}, "The profile says the same."),
        ("milk_temperature_most", OWN | {"value": "NaN", "unit": "degF"}, "This is not a number."),
        ("milk_temperature_most", OWN | {"value": "1,234.5", "unit": "degF"}, "one comma or point"),
        ("milk_temperature_most", OWN | {"value": "7", "unit": "K"}, "K is not one of the available"),
        ("phosphatase_below", OWN | {"value": "low"}, "digits"),
        ("heat_rule", OWN | {"value": "boil it"}, "boil it is not one of the available"),
        ("record_mode", OWN | {"value": "x" * 301}, "at most 300 characters"),
        ("record_mode", OWN | {"value": "\ufffe"}, "character that cannot be kept"),
        ("review_days", OWN | {"citation": "x" * 501}, "at most 500 characters"),
    ],
)
def test_what_cannot_be_taken_is_said_and_what_was_typed_stays(
    cast: Cast, code: str, typed: dict[str, str], message: str
) -> None:
    before = document(with_profile(cast))

    answer = send(cast, "plan_parameter", code, **typed)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert typed["reason"] in page
    assert document(cast) == before


def test_a_decimal_comma_and_a_unit_written_out_are_read(cast: Cast) -> None:
    with_profile(cast, "eu")

    answer = send(
        cast, "plan_parameter", "milk_temperature_most", **{**OWN, "value": "7,5 °C", "unit": "degC"}
    )

    assert answer.status_code == 302
    assert figure(cast, "milk_temperature_most")["value"] == "7.5"


def test_another_unit_is_offered_converted_and_taken_when_chosen(cast: Cast) -> None:
    with_profile(cast)
    typed = {**OWN, "value": "5 °C", "unit": "degF"}

    asked = send(cast, "plan_parameter", "milk_temperature_most", **typed)
    taken = send(cast, "plan_parameter", "milk_temperature_most", **typed, value_offer="0")

    assert asked.status_code == 422
    assert 'name="value_offer"' in text_of(asked)
    assert taken.status_code == 302
    found = figure(cast, "milk_temperature_most")
    assert [found["value"], found["unit"]] == ["41", "degF"]  # 5 °C is 41 °F by definition of the scales


@pytest.mark.parametrize(
    ("code", "raw", "unit", "expected"),
    [
        ("status_by", "06-15", "month-day", "06-15"),
        ("attestation_window", "09-01 to 11-30", "month-day", "09-01 to 11-30"),
        ("validation_days", "0", "days", "0"),
        ("reanalysis_months", "12", "months", "12"),
        ("produce_within_hours", "24", "h", "24"),
        ("phosphatase_most", "100", "mU/L", "100"),
        ("record_mode", " actual  values ", "", "actual  values"),
    ],
)
def test_each_figure_is_read_as_what_it_is(code: str, raw: str, unit: str, expected: str) -> None:
    assert read_value(raw, unit, code) == expected


@pytest.mark.parametrize(
    ("code", "raw"),
    [
        ("status_by", "1 July"),
        ("status_by", "13-01"),
        ("status_by", "07-32"),
        ("attestation_window", "10-01"),
    ],
)
def test_a_day_of_the_year_has_one_form(code: str, raw: str) -> None:
    with pytest.raises(BadInput, match="two digits each"):
        read_value(raw, "month-day", code)


def test_every_figure_that_a_profile_gives_in_a_unit_can_be_typed_in_it() -> None:
    for profile in profiles().values():
        for parameter in profile.parameters:
            if parameter.unit:
                assert parameter.unit in UNITS_OF[parameter.code]
                assert read_value(parameter.value, parameter.unit, parameter.code) == parameter.value
    assert set(UNITS_OF) <= set(PARAMETERS)
    assert {unit for units in UNITS_OF.values() for unit in units} == set(UNIT_WORDS)


def test_choosing_a_profile_shows_what_differs_before_anything_changes(cast: Cast) -> None:
    with_profile(cast)
    send(cast, "plan_parameter", "cold_store_most", **{**OWN, "value": "41", "unit": "degF"})
    before = document(cast)

    choice = text_of(get(cast, cast.owner, "plan_profile_change"))
    page = text_of(get(cast, cast.owner, "plan_profile_change", query="?to=eu"))

    assert all(profile.name in choice for profile in profiles().values())
    assert "European Union and Northern Ireland" in page
    assert "Review of monitoring and corrective-action records, within" in page
    assert "7 working days" in page
    assert "nothing said" in page  # the Union fixes no day on which a status is determined, and the reverse
    assert "You chose this figure: it would be lost." in page
    assert document(cast) == before


def test_another_profile_replaces_every_figure(cast: Cast) -> None:
    with_profile(cast)
    controls = document(cast)["controls"]

    answer = send(cast, "plan_profile_change", to="eu", read_on=profiles()["eu"].read_on)

    assert answer.status_code == 302
    assert document(cast)["profile"] == block_of(profiles()["eu"])
    assert document(cast)["controls"] == controls


def test_a_profile_read_anew_since_the_page_was_shown_is_not_taken(cast: Cast) -> None:
    before = document(with_profile(cast))

    answer = send(cast, "plan_profile_change", to="eu", read_on="2020-01-01")

    page = text_of(answer)
    assert answer.status_code == 409
    assert "read anew meanwhile" in page
    assert f'value="{profiles()["eu"].read_on}"' in page
    assert document(cast) == before


def test_the_same_profile_differs_in_nothing_and_an_own_figure_is_named() -> None:
    data = {**json.loads(PLAN), "profile": block_of(profiles()["nz"])}
    assert differences(read(data), profiles()["nz"]) == []

    data["profile"]["parameters"][0]["provenance"] = "own"
    assert [one.own for one in differences(read(data), profiles()["nz"])] == [True]


def test_what_the_page_of_differences_does_not_list_stays_the_same() -> None:
    for present in profiles().values():
        plan = read({**json.loads(PLAN), "profile": block_of(present)})
        for coming in profiles().values():
            listed = {one.name for one in differences(plan, coming)}
            for code in PARAMETERS:
                if name_of(code) not in listed:
                    assert present.parameter(code) == coming.parameter(code)


@pytest.mark.parametrize(
    ("name", "arguments", "typed"),
    [
        ("plan_parameter", ["review_days"], OWN),
        ("plan_parameter_back", ["review_days"], {}),
        ("plan_profile_change", [], {"to": "eu", "read_on": profiles()["eu"].read_on}),
    ],
)
def test_a_stale_form_is_refused_and_passes_when_sent_again(
    cast: Cast, name: str, arguments: list[str], typed: dict[str, str]
) -> None:
    with_profile(with_profile(cast))
    before = document(cast)
    draft = draft_of(cast)
    assert draft is not None

    stale = send(cast, name, *arguments, revision="1", **typed)

    page = text_of(stale)
    assert stale.status_code == 409
    assert "Somebody changed the draft meanwhile" in page
    assert f'name="revision" value="{draft.revision}"' in page
    assert typed.get("reason", "") in page
    assert document(cast) == before
    assert send(cast, name, *arguments, **typed).status_code == 302


@pytest.mark.parametrize(
    ("name", "arguments", "typed"),
    [
        ("plan_parameter", ["review_days"], OWN),
        ("plan_parameter_back", ["review_days"], {}),
        ("plan_profile_change", [], {"to": "eu", "read_on": profiles()["eu"].read_on}),
    ],
)
@pytest.mark.parametrize(
    ("who", "write"),
    [("owner", 302), ("maker", 403), ("reviewer", 403), ("inspector", 403), ("stranger", 404)],
)
def test_a_qualified_individual_changes_the_profile(
    cast: Cast, name: str, arguments: list[str], typed: dict[str, str], who: str, write: int
) -> None:
    with_profile(cast)
    before = (entries(cast.dairy), document(cast))
    person = getattr(cast, who)
    read_status = 405 if name.endswith("back") else 404 if who == "stranger" else 200

    assert get(cast, person, name, *arguments).status_code == read_status
    assert (entries(cast.dairy), document(cast)) == before
    assert send(cast, name, *arguments, by=person, **typed).status_code == write


def test_what_does_not_exist_is_not_found(cast: Cast) -> None:
    with_profile(cast)

    assert get(cast, cast.owner, "plan_parameter", "moon_phase").status_code == 404
    assert get(cast, cast.owner, "plan_profile_change", query="?to=atlantis").status_code == 404
    assert send(cast, "plan_profile_change", to="").status_code == 404


def test_a_profile_from_elsewhere_is_shown_and_says_that_nothing_is_compared(cast: Cast) -> None:
    one = {"code": "house_rule", "value": "blue", "unit": "", "citation": "A letter", "note": ""}
    begun(
        cast,
        profile={
            "code": "elsewhere",
            "read_on": "",
            "parameters": [one | {"provenance": "read"}, one | {"code": "review_days", "provenance": "read"}],
        },
    )

    page = text_of(get(cast, cast.owner, "plan_profile"))
    changed = send(cast, "plan_parameter", "house_rule", **{**OWN, "value": "red"})
    back = send(cast, "plan_parameter_back", "house_rule")

    assert "nothing here to compare" in page
    assert "House_rule" in page
    assert changed.status_code == 302
    assert back.status_code == 409
    assert "nothing to put back" in text_of(back)


def test_an_older_reading_of_a_profile_says_that_there_is_a_newer_one(cast: Cast) -> None:
    begun(cast, profile={**block_of(profiles()["eu"]), "read_on": "2020-01-01"})

    assert "The profile was read again on" in text_of(get(cast, cast.owner, "plan_profile"))
