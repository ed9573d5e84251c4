"""The screens of the hazard analysis: reading it, adding, changing, taking away."""

import pytest

from safetyplan.reference.hazards import hazards
from tests.cast import Cast
from tests.safetyplan.plans.editing.hazards_stage import (
    begun,
    data_of,
    hazard,
    hazard_of,
    product,
    revision,
    send,
    step,
    typed_hazard,
)
from tests.safetyplan.plans.stage import get, url
from tests.web import text_of

TREE = {"tree": "codex_2022", "answers": {"q1": "no", "q2": "yes", "q3": "no", "q4": "yes"}}


def section(page: str, place: str) -> str:
    """Give the part of the page that belongs to a step."""
    return page.split(f'aria-labelledby="{place}"')[1].split("</section>")[0]


@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector"])
def test_everybody_of_the_dairy_reads_the_analysis_in_words(cast: Cast, who: str) -> None:
    begun(cast, hazards=[hazard("H1", "heat", "Spores", severity="Grave, it can kill.", where="this_step")])

    page = text_of(get(cast, getattr(cast, who), "plan_hazards"))

    assert "Grave, it can kill." in page
    assert "Biological" in page
    assert "Heating again removes it." in page
    assert "CCP1 Heat treatment (Critical control point, at the step Heating)" in page
    assert "Raw milk may carry it." in page
    assert (url(cast, "plan_hazard_add") in page) == (who == "owner")
    assert ("Remove<" in page) == (who == "owner")


def test_the_analysis_follows_the_flow_of_one_product(cast: Cast) -> None:
    begun(cast)

    fresh = text_of(get(cast, cast.owner, "plan_hazards"))
    salted = text_of(get(cast, cast.owner, "plan_hazards", query="?product=BB"))
    unknown = text_of(get(cast, cast.owner, "plan_hazards", query="?product=%00ZZ"))

    assert fresh.index('id="step-1"') < fresh.index('id="step-2"') < fresh.index('id="step-3"')
    assert "Brucella" in section(fresh, "step-1")
    assert "At a later step: Heating" in section(fresh, "step-1")
    assert "Vegetative pathogens" in section(fresh, "step-2")
    assert "Packing" in section(fresh, "step-3")
    assert "Salting" in section(salted, "step-3")
    assert "<h2>Alder Fresh</h2>" in unknown


def test_a_step_without_a_hazard_says_so_and_leads_to_adding_one(cast: Cast) -> None:
    begun(cast)

    page = text_of(get(cast, cast.owner, "plan_hazards"))

    assert "No hazard is written at this step." in section(page, "step-3")
    assert url(cast, "plan_hazard_add") + "?product=AA&amp;step=pack" in section(page, "step-3")
    assert "No hazard is written at this step." not in section(page, "step-1")


def test_rows_of_the_whole_site_and_rows_astray_are_never_hidden(cast: Cast) -> None:
    rows = [
        hazard("H1", "", "Caesium-137", kind="radiological", products=[]),
        hazard("H2", "smoke", "Soot", kind="chemical"),
        hazard("H3", "salt", "Salt-loving bacteria", products=[]),
    ]
    begun(cast, hazards=rows)

    fresh = text_of(get(cast, cast.owner, "plan_hazards"))
    salted = text_of(get(cast, cast.owner, "plan_hazards", query="?product=BB"))

    assert "Caesium-137" in section(fresh, "site")
    assert "Soot" in section(fresh, "astray")
    assert "Salt-loving" not in fresh
    assert "Salt-loving" in section(salted, "step-3")


def test_the_findings_of_a_hazard_stand_beside_it(cast: Cast) -> None:
    begun(cast, hazards=[hazard("H1", "heat", "Spores", controlled_by="CCP9"), hazard("H2", "heat", "Lice")])

    page = text_of(get(cast, cast.owner, "plan_hazards"))

    first, second = page.split('aria-label="H2 Lice"')
    assert "P002" in first.split('aria-label="H1 Spores"')[1]
    assert "P002" not in second
    assert "No physical hazard is considered." in first.split('aria-label="H1 Spores"')[0]


def test_a_draft_without_products_says_that_there_is_no_flow(cast: Cast) -> None:
    begun(cast, products=[], hazards=[], controls=[])

    assert "no product yet" in text_of(get(cast, cast.owner, "plan_hazards"))


def test_every_row_of_the_list_is_offered_and_the_filter_narrows_it(cast: Cast) -> None:
    begun(cast)

    every = text_of(get(cast, cast.owner, "plan_hazard_add"))
    physical = text_of(get(cast, cast.owner, "plan_hazard_add", query="?kind=physical&usual=cutting"))
    odd = text_of(get(cast, cast.owner, "plan_hazard_add", query="?kind=%00&usual=" + "x" * 3000))

    assert all(f"agent={code}" in every for code in hazards())
    assert "agent=metal" in physical
    assert "agent=salmonella" not in physical
    assert "agent=wood" not in physical
    assert all(f"agent={code}" in odd for code in hazards())


def test_a_step_called_like_a_place_of_the_list_shows_that_place_first(cast: Cast) -> None:
    begun(cast)

    at_receipt = text_of(get(cast, cast.owner, "plan_hazard_add", query="?step=receive"))
    asked = text_of(get(cast, cast.owner, "plan_hazard_add", query="?step=receive&usual="))
    elsewhere = text_of(get(cast, cast.owner, "plan_hazard_add", query="?step=pack"))

    assert "<option selected>milk receipt</option>" in at_receipt
    assert "agent=wood" not in at_receipt
    assert "agent=wood" in asked
    assert "agent=wood" in elsewhere


def test_taking_one_from_the_list_fills_the_form(cast: Cast) -> None:
    begun(cast)
    query = "?product=AA&step=heat&agent=staphylococcal_enterotoxin"

    page = text_of(get(cast, cast.owner, "plan_hazard_add", query=query))

    agent = hazards()["staphylococcal_enterotoxin"]
    assert f'value="{agent.name}"' in page
    assert f'<option value="{agent.code}" selected>' in page
    assert '<option value="toxin" selected>' in page
    assert '<option value="heat" selected>' in page
    assert 'value="AA" id="id_products_0" checked' in page
    assert 'value="BB" id="id_products_1" checked' not in page
    assert agent.severity in page
    assert "checked" in page.split('name="removed_by_reheating" value="no"')[1].split(">")[0]


def test_a_hazard_that_is_not_in_the_list_is_told_so(cast: Cast) -> None:
    begun(cast)

    page = text_of(get(cast, cast.owner, "plan_hazard_add", query="?agent=unicorn"))

    assert "That hazard is not in the list." in page


def test_a_reader_sees_the_list_but_no_form(cast: Cast) -> None:
    begun(cast)

    page = text_of(get(cast, cast.inspector, "plan_hazard_add", query="?agent=metal"))

    assert hazards()["metal"].name in page
    assert 'method="post"' not in page.split("<main")[1]


def test_a_hazard_is_added_with_everything_that_was_said(cast: Cast) -> None:
    begun(cast)
    typed = typed_hazard(cast)

    answer = send(cast, cast.owner, "plan_hazard_add", typed=typed)

    kept = hazard_of(cast, "H3")
    assert answer.status_code == 302
    assert answer.headers["Location"].endswith("?product=AA#step-3")
    assert kept["products"] == ["AA"]
    assert (kept["significant"], kept["removed_by_reheating"]) == (False, False)
    assert {key: kept[key] for key in ("name", "kind", "step", "severity", "likelihood", "reason")} == {
        key: typed[key] for key in ("name", "kind", "step", "severity", "likelihood", "reason")
    }
    assert (kept["where"], kept["controlled_by"], kept["measure_type"]) == (
        "prerequisite",
        "PRP1",
        "prerequisite",
    )
    assert "controlled_step" not in kept
    assert "determination" not in kept


def test_with_one_product_the_products_are_not_asked(cast: Cast) -> None:
    begun(cast, products=[product("AA", "Alder Fresh", [step("pack", "Packing")])], hazards=[], controls=[])
    page = text_of(get(cast, cast.owner, "plan_hazard_add", query="?own=1"))

    send(cast, cast.owner, "plan_hazard_add", typed=typed_hazard(cast, products=[]))

    assert 'name="products"' not in page
    assert hazard_of(cast, "H1")["products"] == ["AA"]


def test_a_hazard_is_changed_and_keeps_its_determination(cast: Cast) -> None:
    begun(cast, hazards=[hazard("H1", "heat", "Spores", where="this_step", determination=TREE)])
    page = text_of(get(cast, cast.owner, "plan_hazard", "H1"))
    typed = typed_hazard(
        cast, kind="biological", step="heat", where="this_step", controlled_by="CCP1", significant="yes"
    )

    answer = send(cast, cast.owner, "plan_hazard", "H1", typed=typed)

    kept = hazard_of(cast, "H1")
    assert 'value="Spores"' in page
    assert answer.status_code == 302
    assert kept["name"] == "Wire of the curd knife"
    assert kept["determination"] == TREE


def test_at_another_step_the_answers_of_the_tree_do_not_hold(cast: Cast) -> None:
    begun(cast, hazards=[hazard("H1", "heat", "Spores", determination=TREE)])
    page = text_of(get(cast, cast.owner, "plan_hazard", "H1"))

    answer = send(cast, cast.owner, "plan_hazard", "H1", typed=typed_hazard(cast))

    assert "Another step takes the answers of the decision tree away" in page
    assert answer.status_code == 302
    assert "determination" not in hazard_of(cast, "H1")


def test_the_later_step_is_kept_only_for_a_hazard_controlled_later(cast: Cast) -> None:
    begun(cast)
    later = typed_hazard(
        cast, step="receive", where="later_step", controlled_step="pack", controlled_by="OPRP1"
    )

    send(cast, cast.owner, "plan_hazard", "H1", typed=later)
    kept = hazard_of(cast, "H1")
    send(cast, cast.owner, "plan_hazard", "H1", typed={**later, "where": "", "revision": revision(cast)})

    assert kept["controlled_step"] == "pack"
    assert "controlled_step" not in hazard_of(cast, "H1")


def test_what_the_plan_no_longer_has_is_shown_and_must_be_replaced(cast: Cast) -> None:
    row = hazard("H1", "smoke", "Soot", controlled_by="CCP9", agent="old_agent", products=["AA"])
    begun(cast, hazards=[row])

    page = text_of(get(cast, cast.owner, "plan_hazard", "H1"))
    typed = typed_hazard(cast, step="smoke", controlled_by="CCP9", where="")
    refused = text_of(send(cast, cast.owner, "plan_hazard", "H1", typed=typed))

    assert '<option value="smoke" selected>smoke (not there any more)' in page
    assert '<option value="CCP9" selected>' in page
    assert '<option value="old_agent" selected>' in page
    assert "Not in the flow of Alder Fresh" in refused
    assert "CCP9 is not in the plan any more" in refused


@pytest.mark.parametrize("name", ["plan_hazard", "plan_hazard_remove", "plan_determination"])
@pytest.mark.parametrize("code", ["H9", "%00", "x" * 3000, "😀"])
def test_a_hazard_that_is_not_there_is_not_found(cast: Cast, name: str, code: str) -> None:
    begun(cast)

    assert get(cast, cast.owner, name, code).status_code == 404
    assert send(cast, cast.owner, name, code, typed={"revision": "1"}).status_code == 404
    assert get(cast, cast.owner, name, "H1").status_code == 200


def test_without_a_draft_there_is_nothing_to_edit(cast: Cast) -> None:
    assert get(cast, cast.owner, "plan_hazards").status_code == 404
    assert get(cast, cast.owner, "plan_hazard_add").status_code == 404


def test_a_draft_that_somebody_changed_meanwhile_is_refused_and_what_was_typed_stays(cast: Cast) -> None:
    begun(cast)
    typed = typed_hazard(cast)
    begun(cast)

    refused = send(cast, cast.owner, "plan_hazard_add", typed=typed)
    again = send(cast, cast.owner, "plan_hazard_add", typed={**typed, "revision": "2"})

    page = text_of(refused)
    assert refused.status_code == 409
    assert "Somebody changed the draft meanwhile." in page
    assert "Wires are counted at every cleaning." in page
    assert 'name="revision" value="2"' in page
    assert again.status_code == 302
    assert len(data_of(cast)["hazards"]) == 3


def test_what_somebody_else_wrote_stands_beside_what_was_typed(cast: Cast) -> None:
    begun(cast)
    typed = typed_hazard(cast)
    begun(cast, hazards=[hazard("H1", "heat", "Spores", severity="Grave: theirs.")])

    refused = send(cast, cast.owner, "plan_hazard", "H1", typed=typed)

    page = text_of(refused)
    assert refused.status_code == 409
    assert "Grave: theirs." in page.split("As it stands in the draft now")[1].split("As you wrote it")[0]
    assert "Wires are counted at every cleaning." in page.split("As you wrote it")[1]


@pytest.mark.parametrize("odd", ["", "-1", "1.0", "١", "9" * 9, "9" * 40])
def test_an_odd_revision_changes_nothing(cast: Cast, odd: str) -> None:
    begun(cast)

    answer = send(cast, cast.owner, "plan_hazard_remove", "H1", typed={"revision": odd})

    assert answer.status_code in (409, 422)
    assert len(data_of(cast)["hazards"]) == 2
