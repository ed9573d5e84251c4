"""The screen of a limit: opened, tried, saved, refused; what follows when the figure changes."""

import json
from typing import Any

import pytest

from safetyplan.plans.editing.limit_kinds import KINDS
from tests.calculation.kind_cases import documents
from tests.cast import Cast
from tests.safetyplan.plans.editing.controls_stage import (
    OPEN,
    control_of,
    fields_of,
    opened,
    plan_with,
    send,
    sent,
    with_limit,
)
from tests.safetyplan.plans.stage import (
    document_of,
    draft_of,
    get,
    revision_of,
    url,
    write,
)
from tests.web import entries, text_of

DOCUMENTS = documents()


def test_the_page_shows_the_limit_its_words_and_readings_judged_by_it(cast: Cast) -> None:
    write(cast)

    page = text_of(get(cast, cast.owner, "plan_limit", "CCP2"))

    assert "Limit: pH at most 4.60 within 24 h of starter added." in page
    assert "pH 4.61 is above the limit 4.60 at 24 h after starter added, by 0.01." in page
    assert "state-outside_limit" in page
    assert "state-within" in page
    assert url(cast, "plan_control", "CCP2") in page


@pytest.mark.parametrize("limit", DOCUMENTS, ids=[f"{d['kind']} {n}" for n, d in enumerate(DOCUMENTS)])
def test_a_limit_of_any_kind_opened_and_saved_again_stays_as_it_is(cast: Cast, limit: dict[str, Any]) -> None:
    write(cast, with_limit(limit))

    answer = sent(cast)

    assert answer.status_code == 302
    assert control_of(cast, "CCP2")["limit"] == limit
    assert control_of(cast, "CCP2")["provenance"] == "own"


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_is_offered_with_an_example_and_opens_empty(cast: Cast, kind: str) -> None:
    write(cast, plan_with("CCP1", limit=OPEN))

    page = get(cast, cast.owner, "plan_limit", "CCP1", query=f"?kind={kind}")

    assert page.status_code == 200
    assert fields_of(page)["kind"] == kind
    assert str(KINDS[kind].title) in text_of(page)


def test_a_kind_that_nobody_knows_is_not_found(cast: Cast) -> None:
    write(cast)

    assert get(cast, cast.owner, "plan_limit", "CCP2", query="?kind=matrix").status_code == 404


def test_an_open_limit_shows_its_question_and_sources_and_fills_in_no_figure(cast: Cast) -> None:
    write(cast, plan_with("CCP2", limit=OPEN))

    page = get(cast, cast.owner, "plan_limit", "CCP2")
    fields = fields_of(page)

    assert "No limit yet" in text_of(page)
    assert OPEN["prompt"] in text_of(page)
    assert "An invented study of uncooked curd" in text_of(page)
    assert (fields["kind"], fields["part"], fields["event"]) == ("reached_by", "pH", "starter_added")
    assert [fields[f"points-0-{name}"] for name in ("hours", "limit", "target")] == ["", "", ""]
    assert fields["tolerance"] == ""


def test_an_open_limit_is_set_in_one_go(cast: Cast) -> None:
    write(cast, plan_with("CCP2", limit=OPEN, provenance="memory"))
    figures = {
        "tolerance": "0,05",
        "points-0-hours": "24",
        "points-0-limit": "4,60",
        "points-0-target": "4.5",
        "points-0-window_before_minutes": "2 h",
    }

    answer = sent(cast, **figures, figure_source="Own trial of that spring", provenance="own")

    control = control_of(cast, "CCP2")
    assert answer.status_code == 302
    assert answer["Location"] == url(cast, "plan_controls")
    assert control["limit"]["points"] == [
        {"hours": "24", "limit": "4.60", "target": "4.5", "window_before_minutes": 120}
    ]
    assert control["figure_source"] == "Own trial of that spring"


def test_trying_a_reading_says_what_it_would_be_and_saves_nothing(cast: Cast) -> None:
    draft = write(cast)
    before = entries(cast.dairy)
    typed = {**opened(cast, "plan_limit", "CCP2"), "act": "try"}
    typed |= {"points-0-limit": "4.70", "try-ph": "5.5", "try-since-starter_added": "24"}

    page = send(cast, "plan_limit", "CCP2", **typed)

    assert page.status_code == 200
    assert "pH 5.5 at 24 h after starter added" in text_of(page)
    assert "pH 5.5 is above the limit 4.70 at 24 h after starter added, by 0.80." in text_of(page)
    assert fields_of(page)["points-0-limit"] == "4.70"
    assert draft_of(cast) == draft
    assert document_of(cast) == json.loads(draft.text)
    assert entries(cast.dairy) == before


def test_a_reading_that_cannot_be_is_refused_at_its_field_and_stays(cast: Cast) -> None:
    write(cast)
    typed = {**opened(cast, "plan_limit", "CCP2"), "act": "try", "try-ph": "sour"}

    page = send(cast, "plan_limit", "CCP2", **typed)

    assert page.status_code == 422
    assert fields_of(page)["try-ph"] == "sour"
    assert "This is not a number." in text_of(page)


def test_a_reading_without_its_decimal_mark_is_offered_with_it_and_judged_when_chosen(cast: Cast) -> None:
    write(cast)
    typed = {**opened(cast, "plan_limit", "CCP2"), "act": "try", "try-since-starter_added": "24"}

    asked = send(cast, "plan_limit", "CCP2", **{**typed, "try-ph": "46"})
    taken = send(cast, "plan_limit", "CCP2", **{**typed, "try-ph": "46", "try-ph_offer": "0"})

    assert (asked.status_code, taken.status_code) == (422, 200)
    assert "pH 4.6 at 24 h after starter added" in text_of(taken)


def test_trying_with_a_wrong_figure_names_the_field_and_judges_nothing(cast: Cast) -> None:
    write(cast)
    typed = {**opened(cast, "plan_limit", "CCP2"), "act": "try", "points-0-target": "4.58"}

    page = send(cast, "plan_limit", "CCP2", **typed)

    assert page.status_code == 422
    assert "must lie inside the limit pH 4.60 by at least the tolerance pH 0.05" in text_of(page)
    assert "Readings worked through" not in text_of(page)


def test_a_refused_limit_keeps_what_was_typed_and_changes_nothing(cast: Cast) -> None:
    draft = write(cast)

    page = sent(cast, **{"points-0-limit": "low", "justification": "Because & <b>so</b>"})

    assert page.status_code == 422
    assert fields_of(page)["points-0-limit"] == "low"
    assert fields_of(page)["justification"] == "Because & <b>so</b>"
    assert "<b>so</b>" not in text_of(page)
    assert revision_of(cast) == str(draft.revision)


def test_a_figure_far_from_usual_is_asked_about_and_taken_when_it_is_confirmed(cast: Cast) -> None:
    write(cast)
    asked = sent(cast, "OPRP2", at_most="161", target_at_most="")

    taken = sent(cast, "OPRP2", **{**fields_of(asked), "at_most_offer": "0"})

    assert asked.status_code == 422
    assert "161 °C is far from what is usual. Is it right?" in text_of(asked)
    assert taken.status_code == 302
    assert control_of(cast, "OPRP2")["limit"]["at_most"] == "161"


def test_a_figure_in_another_unit_is_never_converted(cast: Cast) -> None:
    write(cast)

    page = sent(cast, "OPRP2", at_most="45 °F")

    assert page.status_code == 422
    assert "A limit stays in the unit of its source" in text_of(page)
    assert "7.2" not in text_of(page)
    assert control_of(cast, "OPRP2")["limit"]["at_most"] == "6"


def test_the_unit_of_the_source_can_be_chosen_and_the_figures_stay_as_typed(cast: Cast) -> None:
    write(cast)

    answer = sent(cast, "OPRP2", unit="degF", at_most="45", target_at_most="40")

    limit = control_of(cast, "OPRP2")["limit"]
    assert answer.status_code == 302
    assert (limit["unit"], limit["at_most"], limit["target_at_most"]) == ("degF", "45", "40")


def test_kinds_that_no_check_records_yet_say_so_honestly(cast: Cast) -> None:
    write(cast)
    raw = next(d for d in DOCUMENTS if d["kind"] == "not_before")

    chosen = text_of(get(cast, cast.owner, "plan_limit", "CCP1", query="?kind=last_of"))
    write(cast, with_limit({"kind": "all_of", "members": [raw]}))
    inside = text_of(get(cast, cast.owner, "plan_limit", "CCP2"))

    for page in (chosen, inside):
        assert "no check can record what this needs yet" in page
    assert "P013" in inside


def test_limits_inside_a_limit_are_added_and_changed_without_saving(cast: Cast) -> None:
    draft = write(cast)
    typed = opened(cast, "plan_limit", "OPRP2", query="?kind=all_of")

    more = send(cast, "plan_limit", "OPRP2", **{**typed, "members-1-kind": "attribute", "act": "shape"})
    added = send(cast, "plan_limit", "OPRP2", **{**fields_of(more), "act": "add:members"})
    less = send(cast, "plan_limit", "OPRP2", **{**fields_of(added), "act": "drop:members-2"})

    assert [page.status_code for page in (more, added, less)] == [200, 200, 200]
    assert fields_of(more)["members-0-at_most"] == "6"
    assert fields_of(added)["members-2-kind"] == "bound"
    assert "members-2-kind" not in fields_of(less)
    assert revision_of(cast) == str(draft.revision)

    test = {"members-1-part": "smell", "members-1-options": "clean\nfoul", "members-1-accepted": "clean"}
    saved = send(cast, "plan_limit", "OPRP2", **{**fields_of(less), **test, "act": "save"})
    assert saved.status_code == 302
    assert [m["kind"] for m in control_of(cast, "OPRP2")["limit"]["members"]] == ["bound", "attribute"]


def test_a_draft_changed_meanwhile_is_refused_with_what_was_typed_and_can_be_sent_again(cast: Cast) -> None:
    write(cast)
    typed = {**opened(cast, "plan_limit", "OPRP2"), "act": "save", "at_most": "5"}
    write(cast, plan_with("OPRP2", name="Cheese cold"))

    stale = send(cast, "plan_limit", "OPRP2", **typed)
    again = send(cast, "plan_limit", "OPRP2", **{**fields_of(stale), "act": "save"})

    assert (stale.status_code, again.status_code) == (409, 302)
    assert fields_of(stale)["at_most"] == "5"
    assert control_of(cast, "OPRP2")["limit"]["at_most"] == "5"
    assert control_of(cast, "OPRP2")["name"] == "Cheese cold"


@pytest.mark.parametrize(
    ("who", "reads", "writes"),
    [
        ("owner", 200, 302),
        ("maker", 200, 403),
        ("reviewer", 200, 403),
        ("inspector", 200, 403),
        ("stranger", 404, 404),
    ],
)
def test_everybody_reads_a_limit_and_the_qualified_individual_writes_it(
    cast: Cast, who: str, reads: int, writes: int
) -> None:
    write(cast)
    person = getattr(cast, who)
    typed = {**opened(cast, "plan_limit", "CCP2"), "act": "save"}

    assert get(cast, person, "plan_limit", "CCP2").status_code == reads
    assert send(cast, "plan_limit", "CCP2", person=person, **typed).status_code == writes


def test_a_reader_sees_the_words_and_the_readings_but_no_form(cast: Cast) -> None:
    write(cast)

    page = text_of(get(cast, cast.inspector, "plan_limit", "CCP2"))

    assert "Readings worked through" in page
    assert 'name="points-0-limit"' not in page


@pytest.mark.parametrize("code", ["NONE", "CCP2 ", "%00", "…"])
def test_a_control_that_is_not_there_is_not_found(cast: Cast, code: str) -> None:
    write(cast)

    assert get(cast, cast.owner, "plan_limit", code).status_code == 404


@pytest.mark.parametrize(
    "text",
    [
        "NaN",
        "-Infinity",
        "1e309",
        "1_000",
        "½",
        "４.２",
        "٤.٢",
        "O.5",
        "1.234,5",
        "1 234,5",
        "-300",
        "--",
        ",",
        "999999",
        "4.2567891",
        "Temp: 4.2",
        "<script>alert(1)</script>",
        "{{7*7}}",
        "%s",
        "' OR 1=1--",
        "4\x002",
        "9" * 5000,
    ],
)
def test_odd_texts_in_a_figure_are_refused_with_words_and_stay(cast: Cast, text: str) -> None:
    draft = write(cast)

    page = sent(cast, "OPRP2", at_most=text)

    assert page.status_code == 422
    assert "errorlist" in text_of(page)
    assert "<script>alert" not in text_of(page)
    assert revision_of(cast) == str(draft.revision)


@pytest.mark.parametrize(
    ("text", "kept"),
    [("6,2", "6.2"), (" 6.2\u00a0", "6.2"), ("6.2 °C", "6.2"), ("−0", "0"), ("6.2\n", "6.2")],
)
def test_a_figure_is_taken_with_comma_or_point_blanks_and_its_own_unit(
    cast: Cast, text: str, kept: str
) -> None:
    write(cast)

    answer = sent(cast, "OPRP2", at_most=text, target_at_most="-1")

    assert answer.status_code == 302
    assert control_of(cast, "OPRP2")["limit"]["at_most"] == kept
