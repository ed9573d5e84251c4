"""The screens of controls: the list, one control, a new one, taking one out."""

import json
from typing import Any

import pytest

from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.editing.controls_change import read_actions, read_minutes, read_times
from tests.cast import Cast
from tests.safetyplan.plans.editing.controls_stage import (
    OPEN,
    control_of,
    fields_of,
    opened,
    plan_with,
    said,
    send,
)
from tests.safetyplan.plans.stage import PLAN, document_of, get, revision_of, url, write
from tests.web import entries, text_of

CODES = [control["code"] for control in json.loads(PLAN)["controls"]]
NEW = {
    "rank": "oprp",
    "name": "Brine",
    "products": ["TF"],
    "step": "salt",
    "what": "Strength of the brine",
    "how": "Hydrometer",
    "who": "maker",
    "instrument": "hydrometer",
    "resolution": "",
    "when_kind": "daily",
    "days": "production",
    "times": "7:00; 19:30",
    "before": "1 h",
    "late": "90 min",
    "actions": "Add salt\nMeasure again",
    "measure_next": "2 h",
    "verification": "Salt in the cheese monthly",
    "record": "Brine log",
}


def changed(cast: Cast, code: str, /, **typed: Any) -> Any:
    """Open a control, change some of it, and save."""
    return send(cast, "plan_control", code, **{**opened(cast, "plan_control", code), **typed})


def test_the_list_shows_every_control_with_limit_monitoring_and_links(cast: Cast) -> None:
    write(cast)

    page = text_of(get(cast, cast.owner, "plan_controls"))

    for code in CODES:
        assert url(cast, "plan_control", code) in page
        assert url(cast, "plan_limit", code) in page
    assert "Limit: pH at most 4.60 within 24 h of starter added." in page
    assert "pH meter, two buffers that day" in page
    assert (
        page.index('id="control-CCP2"') < page.index('id="control-OPRP1"') < page.index('id="control-PRP1"')
    )


def test_an_open_limit_stands_out_with_its_question_and_sources(cast: Cast) -> None:
    write(cast, plan_with("CCP2", limit=OPEN))

    page = text_of(get(cast, cast.owner, "plan_controls"))

    assert "No limit yet" in page
    assert "One control has no limit yet." in page
    assert OPEN["prompt"] in page
    assert OPEN["sources"][0] in page
    assert "Set the limit" in page


def test_findings_stand_with_their_control(cast: Cast) -> None:
    write(cast, plan_with("PRP2", corrective_actions=[]))

    page = text_of(get(cast, cast.owner, "plan_controls"))

    card = page.split('id="control-PRP2"')[1].split("</article>")[0]
    assert "Plans no corrective action." in card
    assert "P007" in card


@pytest.mark.parametrize("code", CODES)
def test_a_control_opened_and_saved_again_stays_as_it_is(cast: Cast, code: str) -> None:
    write(cast)
    before = control_of(cast, code)

    answer = changed(cast, code)

    after = control_of(cast, code)
    assert answer.status_code == 302
    assert {key: after[key] for key in before} == before
    assert {key: value for key, value in after.items() if key not in before and value} == {}


def test_a_control_is_changed_everywhere_it_can_be(cast: Cast) -> None:
    write(cast)
    entries_before = entries(cast.dairy)

    answer = changed(cast, "PRP2", **{**NEW, "rank": "prp"})

    control = control_of(cast, "PRP2")
    assert answer.status_code == 302
    assert (control["class"], control["name"], control["step"]) == ("prp", "Brine", "salt")
    assert control["products"] == ["TF"]
    assert control["monitoring"]["when"] == {
        "kind": "daily",
        "days": "production",
        "times": ["07:00", "19:30"],
        "window_before_minutes": 60,
        "window_after_minutes": 90,
    }
    assert control["measure_next_minutes"] == 120
    assert control["limit"] == next(c for c in json.loads(PLAN)["controls"] if c["code"] == "PRP2")["limit"]
    assert entries(cast.dairy) == entries_before


def test_a_new_control_gets_a_code_that_stays_and_an_open_limit(cast: Cast) -> None:
    write(cast)

    answer = send(cast, "plan_control_add", **{**NEW, "revision": revision_of(cast)})

    control = control_of(cast, "OPRP4")
    assert answer["Location"] == url(cast, "plan_limit", "OPRP4")
    assert control["limit"]["kind"] == "open"
    assert [action["code"] for action in control["corrective_actions"]] == ["OPRP4-1", "OPRP4-2"]
    assert 'name="code"' not in text_of(get(cast, cast.owner, "plan_control", "OPRP4"))
    assert "P015" in text_of(get(cast, cast.owner, "plan_controls"))


def test_a_new_control_may_bring_its_own_code(cast: Cast) -> None:
    write(cast)

    send(cast, "plan_control_add", **{**NEW, "code": "BR-1", "revision": revision_of(cast)})

    assert control_of(cast, "BR-1")["name"] == "Brine"


@pytest.mark.parametrize("code", ["CCP1", "a b", "CCP/9", "Bé", "x" * 21, "-1", "\u202eCCP9"])
def test_a_code_that_is_taken_or_fits_into_no_address_is_refused(cast: Cast, code: str) -> None:
    write(cast)

    answer = send(cast, "plan_control_add", **{**NEW, "code": code, "revision": revision_of(cast)})

    assert answer.status_code == 422
    assert len(document_of(cast)["controls"]) == len(CODES)


RIPENED = {"products": ["TL"], "step": "ripen"}
# control, what is typed, words of the refusal; then what is taken instead
REFUSED: tuple[tuple[str, dict[str, Any], str, dict[str, Any]], ...] = (
    ("OPRP2", {"rank": "matrix"}, "Select a valid choice", {"rank": "ccp"}),
    ("OPRP2", {"rank": ""}, "Choose the class.", {"rank": "prp"}),
    ("OPRP2", {"name": " "}, "This is missing.", {"name": "Cold cheese"}),
    ("OPRP2", {"name": "x" * 121}, "at most 120", {"name": "x" * 120}),
    ("OPRP2", {"products": ["TF", "ZZ"]}, "Select a valid choice", {"products": ["TF"]}),
    (
        "OPRP2",
        {"products": ["TF"], "step": "ripen"},
        "has no such step",
        {"products": ["TL"], "step": "ripen"},
    ),
    ("OPRP2", {"when_kind": "limit_points"}, "The limit names no times.", {"when_kind": "after_event"}),
    ("CCP2", {"when_kind": "daily"}, "The limit names its own times", {"when_kind": "limit_points"}),
    ("OPRP2", {"event": ""}, "Choose the event", {"event": "drained"}),
    ("OPRP2", {"after": "240"}, "Say min or h", {"after": "4 h"}),
    ("OPRP2", {"after": "1:30"}, "Say min or h", {"after": "90 min"}),
    ("OPRP2", {"after": "20 s"}, "exact number of min", {"after": "0.5 h"}),
    ("OPRP2", {"after": "90 s"}, "Only whole minutes", {"after": "2 d"}),
    ("OPRP2", {"after": "-1 h"}, "cannot be below zero", {"after": ""}),
    ("OPRP2", {"after": "1e3 min"}, "errorlist", {"after": "1000 min"}),
    ("OPRP2", {"before": ""}, "how far from the due time", {"before": "0"}),
    ("OPRP2", {"late": "soon"}, "errorlist", {"late": "15 min"}),
    ("PRP1", {"times": ""}, "at least one time of day", {"times": "06:30"}),
    ("PRP1", {"times": "24:00"}, "is no time of day", {"times": "23:59"}),
    ("PRP1", {"times": "7.30"}, "is no time of day", {"times": "7:30"}),
    ("PRP1", {"times": "07:00 7:00"}, "stands here twice", {"times": "07:00 07:01"}),
    ("PRP1", {"resolution": "0"}, "above zero", {"resolution": "0,5"}),
    ("PRP1", {"resolution": "0.1 °F"}, "The unit here is °C", {"resolution": "0.1 °C"}),
    ("PRP1", {"provenance": "rumour"}, "Select a valid choice", {"provenance": "memory"}),
    ("PRP1", {"how": "a\x00b"}, "errorlist", {"how": "Read é, 5 < 6 & more"}),
    ("PRP1", {"actions": "x" * 5001}, "at most 5000", {"actions": ""}),
)


@pytest.mark.parametrize(("code", "typed", "words", "allowed"), REFUSED, ids=[str(row[1]) for row in REFUSED])
def test_what_cannot_stand_in_a_control_is_refused_and_what_was_typed_stays(
    cast: Cast, code: str, typed: dict[str, Any], words: str, allowed: dict[str, Any]
) -> None:
    draft = write(cast)

    page = changed(cast, code, **{**typed, "verification": "Typed before"})

    assert page.status_code == 422
    assert words in text_of(page)
    assert fields_of(page)["verification"] == "Typed before"
    assert revision_of(cast) == str(draft.revision)


@pytest.mark.parametrize(("code", "typed", "words", "allowed"), REFUSED, ids=[str(row[3]) for row in REFUSED])
def test_and_what_can_is_saved(
    cast: Cast, code: str, typed: dict[str, Any], words: str, allowed: dict[str, Any]
) -> None:
    write(cast)

    assert changed(cast, code, **allowed).status_code == 302


@pytest.mark.parametrize(
    ("typed", "minutes"),
    [("90 min", 90), ("24 h", 1440), ("1,5 h", 90), ("2 d", 2880), ("0", 0), ("0.5h", 30), ("120 s", 2)],
)
def test_a_time_is_typed_in_its_own_unit(typed: str, minutes: int) -> None:
    assert read_minutes(typed, "after") == minutes


@pytest.mark.parametrize("typed", ["90", "1:30", "h", "an hour", "1_0 min", "９ h", "nan h", "99999999 d"])
def test_a_time_without_a_unit_or_a_number_is_refused(typed: str) -> None:
    with pytest.raises(BadInput):
        read_minutes(typed, "after")


def test_times_of_day_are_taken_in_the_order_typed() -> None:
    assert read_times("17:00, 7:00;\n12:15") == ["17:00", "07:00", "12:15"]


OLD = [{"code": "A-1", "text": "Hold"}, {"code": "A-2", "text": "Call"}, {"code": "A-3", "text": "Test"}]


@pytest.mark.parametrize(
    ("lines", "codes"),
    [
        ("Hold\nCall\nTest", ["A-1", "A-2", "A-3"]),
        ("Call\nHold\nTest", ["A-2", "A-1", "A-3"]),
        ("Hold\nCall the owner\nTest", ["A-1", "A-2", "A-3"]),
        ("Hold\nTest", ["A-1", "A-3"]),
        ("Warm the room\nHold\nCall\nTest", ["A-4", "A-1", "A-2", "A-3"]),
        ("Hold\n\n Call \nTest\nWait", ["A-1", "A-2", "A-3", "A-4"]),
        ("Hold\nHold", ["A-1", "A-2"]),
        ("", []),
    ],
)
def test_a_corrective_action_keeps_its_code(lines: str, codes: list[str]) -> None:
    assert [action["code"] for action in read_actions(lines, OLD, "A")] == codes


def test_a_control_that_hazards_name_is_not_taken_out_and_the_page_lists_them(cast: Cast) -> None:
    write(cast)
    named = [h for h in json.loads(PLAN)["hazards"] if h["controlled_by"] == "CCP2"]

    page = send(cast, "plan_control_remove", "CCP2", revision=revision_of(cast))

    assert page.status_code == 409
    assert named
    assert all(hazard["code"] in text_of(page) for hazard in named)
    assert [control["code"] for control in document_of(cast)["controls"]] == CODES


def test_a_control_that_nothing_names_is_taken_out(cast: Cast) -> None:
    plan = json.loads(PLAN)
    for hazard in plan["hazards"]:
        hazard["controlled_by"] = "CCP1"
    for name in ("verifications", "validations"):
        plan[name] = []
    write(cast, json.dumps(plan))

    answer = send(cast, "plan_control_remove", "PRP3", revision=revision_of(cast))

    assert answer.status_code == 302
    assert "PRP3 is taken out of the draft." in said(answer)
    assert [control["code"] for control in document_of(cast)["controls"]] == CODES[:-1]


@pytest.mark.parametrize("kind", ["verifications", "validations"])
def test_evidence_and_verification_that_name_a_control_keep_it_too(cast: Cast, kind: str) -> None:
    plan = json.loads(PLAN)
    naming = {
        "verifications": {"kind": "other", "name": "Strips", "how": "Compare", "how_often": "monthly"},
        "validations": {"kind": "guide", "text": "Guide of the strips"},
    }
    plan[kind] = [{"code": "X1", "controls": ["PRP3"], **naming[kind]}]
    write(cast, json.dumps(plan))

    page = send(cast, "plan_control_remove", "PRP3", revision=revision_of(cast))

    assert page.status_code == 409
    assert "X1" in text_of(page)


@pytest.mark.parametrize(
    ("name", "arguments", "typed"),
    [
        ("plan_control", ["PRP3"], {}),
        ("plan_control_add", [], NEW),
        ("plan_control_remove", ["PRP3"], {}),
    ],
)
def test_a_draft_changed_meanwhile_is_refused_with_what_was_typed(
    cast: Cast, name: str, arguments: list[str], typed: dict[str, Any]
) -> None:
    write(cast)
    form = {**opened(cast, name, *arguments), **typed, "revision": revision_of(cast)}
    write(cast, plan_with("PRP3", name="Strength"))
    before = document_of(cast)

    page = send(cast, name, *arguments, **form)

    assert page.status_code == 409
    assert document_of(cast) == before
    assert fields_of(page).get("name", "") == form.get("name", "")


PAGES = [
    ("plan_controls", []),
    ("plan_control", ["CCP1"]),
    ("plan_control_add", []),
    ("plan_control_remove", ["CCP1"]),
]


@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector"])
@pytest.mark.parametrize(("name", "arguments"), PAGES)
def test_everybody_of_the_dairy_reads_and_reading_writes_nothing(
    cast: Cast, who: str, name: str, arguments: list[str]
) -> None:
    write(cast)
    before = document_of(cast), entries(cast.dairy)

    page = get(cast, getattr(cast, who), name, *arguments)

    assert page.status_code == 200
    assert ('type="submit" class="primary"' in text_of(page)) == (who == "owner" and name in WITH_FORM)
    assert (document_of(cast), entries(cast.dairy)) == before


WITH_FORM = ("plan_control", "plan_control_add")


@pytest.mark.parametrize(
    ("who", "status"), [("maker", 403), ("reviewer", 403), ("inspector", 403), ("stranger", 404)]
)
@pytest.mark.parametrize(("name", "arguments"), PAGES[1:])
def test_nobody_but_the_qualified_individual_writes_controls(
    cast: Cast, who: str, status: int, name: str, arguments: list[str]
) -> None:
    write(cast)
    before = document_of(cast)

    page = send(cast, name, *arguments, person=getattr(cast, who), **{**NEW, "revision": revision_of(cast)})

    assert page.status_code == status
    assert document_of(cast) == before


def test_without_a_draft_there_are_no_controls_to_write(cast: Cast) -> None:
    assert get(cast, cast.owner, "plan_controls").status_code == 404


@pytest.mark.parametrize("name", ["plan_control", "plan_control_remove"])
def test_a_control_that_is_not_there_is_not_found(cast: Cast, name: str) -> None:
    write(cast)

    assert get(cast, cast.owner, name, "CCP99").status_code == 404


def test_the_draft_of_another_dairy_is_never_shown(cast: Cast) -> None:
    write(cast)

    assert get(cast, cast.stranger, "plan_controls").status_code == 404
