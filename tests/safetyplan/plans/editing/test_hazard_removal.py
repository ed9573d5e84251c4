"""Taking a hazard out of the draft, and who may write at all."""

import json

import pytest

from tests.cast import Cast
from tests.safetyplan.plans.editing.hazards_stage import begun, data_of, hazard, hazard_of, revision, send
from tests.safetyplan.plans.stage import PLAN, get, url, write
from tests.web import entries, text_of

TREE = {"tree": "classic", "answers": {"q1": "yes", "q2": "yes"}}


def test_taking_a_hazard_away_is_asked_for_with_what_depends_on_it(cast: Cast) -> None:
    begun(cast, hazards=[hazard("H1", "heat", "Spores", determination=TREE)])

    page = text_of(get(cast, cast.owner, "plan_hazard_remove", "H1"))

    assert "Remove the hazard H1?" in page
    assert "Its answers to the decision tree." in page
    assert "stays in the plan, but then controls no hazard of the analysis" in page
    assert "P042" in page
    assert "No biological hazard is considered." in page
    assert "No physical hazard is considered." not in page.split("What depends on it")[1]
    assert data_of(cast)["hazards"]


def test_a_control_of_other_hazards_names_them(cast: Cast) -> None:
    begun(cast)

    page = text_of(get(cast, cast.owner, "plan_hazard_remove", "H1"))

    assert "stays in the plan and still controls H2 Brucella." in page
    assert "Its answers to the decision tree." not in page


def test_a_hazard_that_nothing_depends_on_says_so(cast: Cast) -> None:
    begun(cast)
    lonely = hazard("H3", "pack", "Lice", products=["AA"], controlled_by="", significant=False)
    begun(cast, hazards=[hazard("H1", "heat", "Spores"), lonely])

    assert "Nothing in the plan names it." in text_of(get(cast, cast.owner, "plan_hazard_remove", "H3"))


def test_a_hazard_is_taken_away(cast: Cast) -> None:
    begun(cast)
    before = entries(cast.dairy)

    answer = send(cast, cast.owner, "plan_hazard_remove", "H1", typed={"revision": revision(cast)})

    assert answer.status_code == 302
    assert [item["code"] for item in data_of(cast)["hazards"]] == ["H2"]
    assert entries(cast.dairy) == before


def test_a_stale_page_takes_nothing_away(cast: Cast) -> None:
    begun(cast)
    begun(cast)

    answer = send(cast, cast.owner, "plan_hazard_remove", "H1", typed={"revision": "1"})

    assert answer.status_code == 409
    assert "Somebody changed the draft meanwhile." in text_of(answer)
    assert len(data_of(cast)["hazards"]) == 2


@pytest.mark.parametrize("name", ["plan_hazards", "plan_hazard_add"])
def test_the_analysis_is_closed_to_another_dairy(cast: Cast, name: str) -> None:
    begun(cast)

    assert get(cast, cast.stranger, name).status_code == 404
    assert get(cast, cast.owner, name).status_code == 200


@pytest.mark.parametrize("name", ["plan_hazard", "plan_hazard_remove", "plan_determination"])
@pytest.mark.parametrize(
    ("who", "status"), [("stranger", 404), ("inspector", 403), ("maker", 403), ("reviewer", 403)]
)
def test_only_a_qualified_individual_of_the_dairy_writes(
    cast: Cast, name: str, who: str, status: int
) -> None:
    begun(cast)
    before = data_of(cast)
    typed = {"revision": revision(cast), "tree": "classic", "q1": "yes"}
    person = getattr(cast, who)

    answer = send(cast, person, name, "H1", typed=typed)

    assert answer.status_code == status
    assert get(cast, person, name, "H1").status_code == (404 if who == "stranger" else 200)
    assert data_of(cast) == before
    assert send(cast, cast.owner, name, "H1", typed=typed).status_code in (302, 422)


def test_reading_the_screens_changes_nothing(cast: Cast) -> None:
    begun(cast)
    before = (revision(cast), data_of(cast))

    for name in ("plan_hazard", "plan_hazard_remove", "plan_determination"):
        get(cast, cast.owner, name, "H1")
    get(cast, cast.owner, "plan_hazard_add", query="?agent=metal&step=heat")

    assert (revision(cast), data_of(cast)) == before


def test_a_code_that_fits_into_no_address_breaks_no_page(cast: Cast) -> None:
    begun(cast, hazards=[hazard("a/b", "heat", "Spores", controlled_by="c/d"), hazard("H2", "heat", "Lice")])

    page = text_of(get(cast, cast.owner, "plan_hazards"))

    assert "Spores" in page
    assert url(cast, "plan_hazard", "H2") in page


def test_the_demonstration_plan_shows_in_full(cast: Cast) -> None:
    write(cast, PLAN)

    page = text_of(get(cast, cast.inspector, "plan_hazards"))

    first = json.loads(PLAN)["products"][0]["code"]
    here = [item for item in data_of(cast)["hazards"] if first in item["products"] or not item["step"]]
    assert here
    assert all(f'aria-label="{item["code"]} ' in page for item in here)
    assert hazard_of(cast, here[0]["code"])["name"] in page
