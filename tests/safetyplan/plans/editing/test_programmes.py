"""Screens of the programmes: prerequisites, verification, validation, recall, after a positive result."""

from datetime import date
from typing import Any

import pytest

from safetyplan.plans.editing.programmes_forms import VALIDATIONS, VERIFICATIONS
from safetyplan.plans.parts import VALIDATION_KINDS, VERIFICATION_KINDS
from tests.cast import Cast
from tests.safetyplan.plans.editing.programmes_stage import begun, document, get, item, send, url
from tests.safetyplan.plans.stage import draft_of
from tests.web import entries, text_of

PREREQUISITE = {
    "name": "Brine and salt",
    "text": "Salt is dry and covered.\r\nBrine is boiled weekly.",
    "how_often": "weekly",
    "who": "maker",
    "record": "brine list",
    "attention": "on",
}
VERIFICATION = {
    "kind": "product_test",
    "name": "Cheese at dispatch",
    "how": "Listeria in 25 g, five pieces",
    "how_often": "every month",
    "controls": ["CCP2", "PR-CLEAN"],
    "who": "responsible person",
    "record": "laboratory reports",
}
VALIDATION = {
    "kind": "study",
    "text": "pH 4.6 within 24 h keeps staphylococci low",
    "controls": ["CCP2"],
    "reference": "Invented journal 12, p. 3",
    "valid_until": "2028-02-29",
}
ADD = [
    ("plan_prerequisite_add", PREREQUISITE, "prerequisites", "PR1"),
    ("plan_verification_add", VERIFICATION, "verifications", "V10"),
    ("plan_validation_add", VALIDATION, "validations", "W3"),
]
CHANGE = [
    ("plan_prerequisite", "PR-PEST", PREREQUISITE, "prerequisites"),
    ("plan_verification", "V2", VERIFICATION, "verifications"),
    ("plan_validation", "W1", VALIDATION, "validations"),
]
PROCEDURES = [
    ("plan_recall", {"responsible": "The owner", "consignees": "By phone"}, "recall"),
    ("plan_positive", {"product": "Hold the lot", "environment": "Clean, swab again"}, "positive_action"),
]


def expected(typed: dict[str, Any]) -> dict[str, Any]:
    """Give what the document then holds: plain line ends, true for a tick."""
    held = {k: v.replace("\r\n", "\n") if isinstance(v, str) else v for k, v in typed.items()}
    return held | ({"attention": True} if "attention" in held else {})


def test_the_page_lists_every_programme_of_the_plan(cast: Cast) -> None:
    page = text_of(get(begun(cast), cast.inspector, "plan_programmes"))

    data = document(cast)
    for one in (*data["prerequisites"], *data["verifications"], *data["validations"]):
        assert one["code"] in page
    assert "Milk and herd" in page
    assert "needs greater attention" in page
    assert "CCP1 Heat treatment; CCP2 Acid at 24 hours" in page
    assert "the whole plan" in page
    assert "63 °C for 30 min is the legal heat treatment" in page
    assert data["recall"]["disposal"] in page
    assert data["positive_action"]["environment"] in page


def test_an_empty_plan_says_what_is_not_written_yet(cast: Cast) -> None:
    nothing: dict[str, Any] = {"prerequisites": [], "verifications": [], "validations": []}
    begun(cast, **nothing, recall={}, positive_action={})

    page = text_of(get(cast, cast.owner, "plan_programmes"))

    assert page.count("Not written yet") == 7
    assert "None yet. Cleaning, milk and herd" in page


@pytest.mark.parametrize(("name", "typed", "key", "code"), ADD)
def test_an_item_is_added_with_a_code_nothing_else_has(
    cast: Cast, name: str, typed: dict[str, Any], key: str, code: str
) -> None:
    begun(cast)

    answer = send(cast, name, **typed)

    assert answer.status_code == 302
    assert answer["Location"] == url(cast, "plan_programmes")
    found = item(cast, key, code)
    assert {name: found[name] for name in typed} == expected(typed)
    assert document(cast)[key][-1] == found


@pytest.mark.parametrize(("name", "code", "typed", "key"), CHANGE)
def test_an_item_is_changed_and_keeps_its_code_and_place(
    cast: Cast, name: str, code: str, typed: dict[str, Any], key: str
) -> None:
    begun(cast)
    before = [one["code"] for one in document(cast)[key]]

    answer = send(cast, name, code, **typed)

    found = item(cast, key, code)
    assert answer.status_code == 302
    assert {name: found[name] for name in typed} == expected(typed)
    assert [one["code"] for one in document(cast)[key]] == before


@pytest.mark.parametrize(("name", "code", "typed", "key"), CHANGE)
def test_the_form_of_an_item_shows_what_stands_there(
    cast: Cast, name: str, code: str, typed: dict[str, Any], key: str
) -> None:
    page = text_of(get(begun(cast), cast.owner, name, code))

    found = item(cast, key, code)
    assert found["text" if "text" in found else "how"] in page
    assert page.count("checked") >= len(found.get("controls", []))


@pytest.mark.parametrize(
    ("name", "code", "key"),
    [
        ("plan_prerequisite_remove", "PR-PEST", "prerequisites"),
        ("plan_verification_remove", "V2", "verifications"),
        ("plan_validation_remove", "W1", "validations"),
    ],
)
def test_an_item_is_removed_after_a_question(cast: Cast, name: str, code: str, key: str) -> None:
    begun(cast)

    asked = text_of(get(cast, cast.owner, name, code))
    answer = send(cast, name, code)

    assert "Remove it from the draft" in asked
    assert answer.status_code == 302
    assert code not in [one["code"] for one in document(cast)[key]]


def a_leaning_hazard(cast: Cast) -> dict[str, Any]:
    """Let a hazard of the draft be controlled by the pest programme."""
    hazards = [one for one in document(begun(cast))["hazards"]]
    hazards[0] = hazards[0] | {"controlled_by": "PR-PEST", "where": "prerequisite"}
    begun(cast, hazards=hazards)
    return hazards[0]


def test_a_prerequisite_that_a_hazard_names_stays(cast: Cast) -> None:
    hazard = a_leaning_hazard(cast)

    asked = text_of(get(cast, cast.owner, "plan_prerequisite_remove", "PR-PEST"))
    answer = send(cast, "plan_prerequisite_remove", "PR-PEST")

    assert "Remove it from the draft" not in asked
    assert f"{hazard['code']} {hazard['name']}" in asked
    assert answer.status_code == 409
    assert f"These hazards are controlled by it: {hazard['code']}" in text_of(answer)
    assert item(cast, "prerequisites", "PR-PEST")


def test_a_removed_prerequisite_is_no_longer_named_by_a_verification(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_verification", "V5", **{**VERIFICATION, "controls": ["CCP1", "PR-PEST"]})

    answer = send(cast, "plan_prerequisite_remove", "PR-PEST")

    assert answer.status_code == 302
    assert item(cast, "verifications", "V5")["controls"] == ["CCP1"]


@pytest.mark.parametrize(
    ("name", "typed", "message"),
    [
        ("plan_prerequisite_add", PREREQUISITE | {"name": " "}, "Give it a name."),
        ("plan_prerequisite_add", PREREQUISITE | {"text": ""}, "Say what is done"),
        ("plan_prerequisite_add", PREREQUISITE | {"text": "x" * 2001}, "at most 2000 characters"),
        ("plan_prerequisite_add", PREREQUISITE | {"name": "a\0"}, "Null characters are not allowed"),
        ("plan_prerequisite_add", PREREQUISITE | {"name": "\ufffe"}, "character that cannot be kept"),
        ("plan_verification_add", VERIFICATION | {"kind": ""}, "Choose what kind of check it is."),
        ("plan_verification_add", VERIFICATION | {"kind": "magic"}, "magic is not one of the available"),
        ("plan_verification_add", VERIFICATION | {"how": ""}, "Say how it is done"),
        ("plan_verification_add", VERIFICATION | {"how_often": ""}, "Say how often"),
        ("plan_verification_add", VERIFICATION | {"controls": ["CCP9"]}, "CCP9 is not one of the available"),
        ("plan_validation_add", VALIDATION | {"kind": ""}, "Choose what kind of evidence it is."),
        ("plan_validation_add", VALIDATION | {"controls": []}, "Tick at least one control"),
        ("plan_validation_add", VALIDATION | {"text": "\u00a0"}, "Say what it shows"),
        ("plan_validation_add", VALIDATION | {"valid_until": "29.02.2028"}, "such as 2026-05-14"),
        ("plan_validation_add", VALIDATION | {"valid_until": "2027-02-29"}, "such as 2026-05-14"),
        ("plan_validation_add", VALIDATION | {"valid_until": "9999-12-31"}, "such as 2026-05-14"),
        ("plan_recall", {"public": "x" * 2001}, "at most 2000 characters"),
        ("plan_positive", {"product": "\ufffe"}, "character that cannot be kept"),
    ],
)
def test_what_is_missing_or_odd_is_said_at_its_field_and_what_was_typed_stays(
    cast: Cast, name: str, typed: dict[str, Any], message: str
) -> None:
    begun(cast)
    before = document(cast)

    answer = send(cast, name, **typed)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert typed.get("record", typed.get("reference", "")) in page
    assert document(cast) == before


def test_everything_that_is_missing_is_said_at_once(cast: Cast) -> None:
    page = text_of(send(begun(cast), "plan_verification_add"))

    for message in ("Choose what kind of check", "Give it a name", "Say how it is done", "Say how often"):
        assert message in page


@pytest.mark.parametrize(("name", "typed", "key"), PROCEDURES)
def test_a_procedure_is_written(cast: Cast, name: str, typed: dict[str, str], key: str) -> None:
    begun(cast, **{key: {}})

    answer = send(cast, name, **typed)

    assert answer.status_code == 302
    assert {k: v for k, v in document(cast)[key].items() if v} == typed


@pytest.mark.parametrize(
    ("name", "arguments", "typed"),
    [
        *((name, [], typed) for name, typed, _key, _code in ADD),
        *((name, [code], typed) for name, code, typed, _key in CHANGE),
        *((name, [], typed) for name, typed, _key in PROCEDURES),
        ("plan_prerequisite_remove", ["PR-PEST"], {}),
    ],
)
def test_a_stale_form_is_refused_with_what_was_typed_and_passes_when_sent_again(
    cast: Cast, name: str, arguments: list[str], typed: dict[str, Any]
) -> None:
    begun(begun(cast))
    before = document(cast)
    draft = draft_of(cast)
    assert draft is not None

    stale = send(cast, name, *arguments, revision="1", **typed)

    page = text_of(stale)
    assert stale.status_code == 409
    assert "Somebody changed the draft meanwhile" in page
    assert f'name="revision" value="{draft.revision}"' in page
    assert all(v in page for v in typed.values() if isinstance(v, str) and v.isalpha())
    assert document(cast) == before
    assert send(cast, name, *arguments, **typed).status_code == 302


@pytest.mark.parametrize(
    ("name", "arguments", "typed"),
    [(name, [], typed) for name, typed, _key, _code in ADD]
    + [(name, [code], typed) for name, code, typed, _key in CHANGE]
    + [("plan_validation_remove", ["W1"], {}), ("plan_recall", [], {}), ("plan_positive", [], {})],
)
@pytest.mark.parametrize(
    ("who", "read", "write"),
    [
        ("owner", 200, 302),
        ("maker", 200, 403),
        ("reviewer", 200, 403),
        ("inspector", 200, 403),
        ("stranger", 404, 404),
    ],
)
def test_everybody_of_the_dairy_reads_and_a_qualified_individual_writes(
    cast: Cast, name: str, arguments: list[str], typed: dict[str, Any], who: str, read: int, write: int
) -> None:
    begun(cast)
    before = (entries(cast.dairy), document(cast))
    person = getattr(cast, who)

    assert get(cast, person, name, *arguments).status_code == read
    assert (entries(cast.dairy), document(cast)) == before
    assert send(cast, name, *arguments, by=person, **typed).status_code == write
    assert (document(cast) == before[1]) == (write != 302)


@pytest.mark.parametrize("name", [name for name, *_rest in CHANGE])
@pytest.mark.parametrize("code", ["XX", "CCP1", "..", "%00"])
def test_an_unknown_code_is_not_found(cast: Cast, name: str, code: str) -> None:
    begun(cast)

    assert get(cast, cast.owner, name, code).status_code == 404
    assert get(cast, cast.owner, f"{name}_remove", code).status_code == 404


def test_without_a_draft_there_is_nothing_to_edit(working: Cast) -> None:
    assert get(working, working.owner, "plan_programmes").status_code == 404


def test_a_code_that_fits_into_no_address_is_shown_without_links(cast: Cast) -> None:
    odd = {"code": "PR/1", "name": "Odd code", "text": "From elsewhere"}
    begun(cast, prerequisites=[odd])

    page = get(cast, cast.owner, "plan_programmes")

    assert page.status_code == 200
    assert "change it in the draft as a file" in text_of(page)


def test_a_control_no_longer_in_the_plan_stays_visible_until_it_is_unticked(cast: Cast) -> None:
    validations = [
        {"code": "W1", "kind": "trial", "text": "Old trial", "controls": ["CCP1", "CCP7"], "reference": "R"}
    ]
    begun(cast, validations=validations)

    page = text_of(get(cast, cast.owner, "plan_validation", "W1"))
    kept = send(cast, "plan_validation", "W1", **{**VALIDATION, "controls": ["CCP1", "CCP7"]})

    assert "CCP7 (no longer in the plan)" in page
    assert kept.status_code == 302
    assert item(cast, "validations", "W1")["controls"] == ["CCP1", "CCP7"]
    send(cast, "plan_validation", "W1", **{**VALIDATION, "controls": ["CCP1"]})
    assert item(cast, "validations", "W1")["controls"] == ["CCP1"]


def test_what_was_typed_is_shown_as_text_never_as_markup(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_prerequisite_add", **{**PREREQUISITE, "name": "<b>{{ 7*7 }}</b> %s"})

    page = text_of(get(cast, cast.owner, "plan_programmes"))

    assert "&lt;b&gt;{{ 7*7 }}&lt;/b&gt; %s" in page


def test_evidence_past_its_day_is_shown_as_expired(cast: Cast) -> None:
    common = {"kind": "trial", "text": "Trial", "controls": ["CCP1"]}
    days = [date(2026, 5, 13), date(2026, 5, 14)]
    begun(
        cast,
        validations=[common | {"code": f"W{n}", "valid_until": str(day)} for n, day in enumerate(days)],
    )

    assert text_of(get(cast, cast.owner, "plan_programmes")).count("Expired") == 1


def test_a_claim_of_no_growth_is_said_to_need_a_challenge_study(cast: Cast) -> None:
    # a rule of our own, stricter than Regulation (EC) 2073/2005, annex II (from memory): that one names
    # challenge tests beside published data and models
    page = text_of(get(begun(cast), cast.owner, "plan_validation_add"))

    assert "a challenge study in that cheese is needed" in page


def test_every_kind_the_document_knows_has_its_words() -> None:
    assert tuple(VERIFICATIONS) == VERIFICATION_KINDS
    assert tuple(VALIDATIONS) == VALIDATION_KINDS
