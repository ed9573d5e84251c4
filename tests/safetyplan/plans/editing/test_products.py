"""Products of the draft: listed, described, added, removed."""

import json
from typing import Any

import pytest

from safetyplan.plans import document
from safetyplan.plans.document_keys import KEYS
from safetyplan.plans.editing.product_forms import ProductForm
from tests.cast import Cast
from tests.safetyplan.plans.stage import (
    PLAN,
    document_of,
    draft_of,
    get,
    post,
    revision_of,
    url,
    write,
)
from tests.web import text_of

DESCRIBED: dict[str, Any] = {
    "name": "Tarrow Fresh, small",
    "family": "fresh_lactic",
    "description": "A drained lactic cheese of 80 g",
    "ingredients": "Goat milk, culture, rennet, salt",
    "allergens": "milk\n\n  mustard \nmilk",
    "milk": "goat, own herd",
    "treatment": "pasteurised",
    "rich": "on",
    "keeps_by": "pH at most 4.60",
    "shelf_life_days": "14",
    "shelf_life_evidence": "Own results of 2025, folder 3",
    "storage": "at most 4 °C",
    "packaging": "paper in a tray",
    "distribution": "farm gate and market",
    "label": "Contains milk and mustard",
    "use": "eaten as it is",
    "consumers": "anybody",
    "exposed": "on",
}


def test_every_key_of_a_product_can_be_written(cast: Cast) -> None:
    write(cast)
    before = document_of(cast)["products"][0]

    answer = post(cast, cast.owner, "plan_product", "TF", revision="1", **DESCRIBED)

    after = document_of(cast)["products"][0]
    assert answer["Location"] == url(cast, "plan_products")
    assert after == {
        **DESCRIBED,
        "code": "TF",
        "allergens": ["milk", "mustard"],
        "rich": True,
        "exposed": True,
        "shelf_life_days": 14,
        "events": before["events"],
        "steps": before["steps"],
    }
    asked = {"code", "events", "steps", *ProductForm().fields} - {"revision"}
    assert asked == set(KEYS["product"].split())


def test_what_is_left_empty_becomes_empty_not_guessed(cast: Cast) -> None:
    write(cast)

    post(cast, cast.owner, "plan_product", "TF", revision="1", name="Tarrow Fresh")

    product = document.read(document_of(cast)).product("TF")
    assert (product.shelf_life_days, product.allergens, product.treatment) == (0, (), "")
    assert (product.exposed, product.rich, product.label) == (False, False, "")


def test_the_page_shows_what_the_draft_says(cast: Cast) -> None:
    data = json.loads(PLAN)
    data["products"][0] |= {"family": "goat_log", "allergens": ["milk", "egg"], "exposed": True}
    write(cast, json.dumps(data))

    page = text_of(get(cast, cast.maker, "plan_product", "TF"))

    assert '<option value="goat_log" selected>' in page
    assert "milk\negg</textarea>" in page
    assert "Save the description" not in page
    assert "Save the description" in text_of(get(cast, cast.owner, "plan_product", "TF"))


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"name": " "}, "Give the product its name."),
        ({"shelf_life_days": "two weeks"}, "two weeks"),
        ({"shelf_life_days": "-3"}, "-3"),
        ({"shelf_life_days": "14,5"}, "14"),
        ({"shelf_life_days": "4000"}, "More than ten years"),
        ({"treatment": "boiled"}, "Select a valid choice"),
        ({"family": "smoked"}, "Select a valid choice"),
        ({"label": "x" * 1001}, "at most 1000 characters"),
        ({"allergens": "x" * 101}, "At most 100 characters"),
        ({"description": "a\ufffebc"}, "cannot be kept"),
    ],
)
def test_a_description_that_cannot_be_taken_is_refused_and_stays(
    cast: Cast, wrong: dict[str, str], message: str
) -> None:
    write(cast)
    before = document_of(cast)

    answer = post(cast, cast.owner, "plan_product", "TF", **{"revision": "1", **DESCRIBED, **wrong})

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert "Own results of 2025, folder 3" in page
    assert document_of(cast) == before


def test_a_description_upon_a_draft_that_changed_is_refused_then_taken(cast: Cast) -> None:
    write(cast)
    write(cast)

    refused = post(cast, cast.owner, "plan_product", "TF", revision="1", **DESCRIBED)
    page = text_of(refused)
    taken = post(cast, cast.owner, "plan_product", "TF", revision="2", **DESCRIBED)

    assert refused.status_code == 409
    assert "Somebody changed the draft meanwhile." in page
    assert "Own results of 2025, folder 3" in page
    assert 'name="revision" value="2"' in page
    assert taken.status_code == 302


def test_the_list_shows_each_product_with_its_screens_and_findings(cast: Cast) -> None:
    data = json.loads(PLAN)
    data["products"][0]["label"] = ""
    write(cast, json.dumps(data))

    page = text_of(get(cast, cast.inspector, "plan_products"))

    for name in ("plan_product", "plan_steps", "plan_events"):
        assert f'href="{url(cast, name, "TF")}"' in page
    assert "P027" in page
    assert "Remove this product" not in page


def test_a_product_is_added_with_nothing_filled_in(cast: Cast) -> None:
    write(cast)

    answer = post(cast, cast.owner, "plan_product_add", revision="1", name="Tarrow Washed", code="")

    assert answer.status_code == 302
    assert document_of(cast)["products"][-1] == {
        "code": "TW",
        "name": "Tarrow Washed",
        "events": [],
        "steps": [],
    }


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"name": ""}, "Give the product its name."),
        ({"name": "Tarrow Fresh", "code": "TF"}, "Another product has this code already."),
        ({"name": "Tarrow Fresh", "code": "T.F"}, "A short code has letters, digits"),
    ],
)
def test_a_product_without_a_name_or_with_a_bad_code_is_refused(
    cast: Cast, typed: dict[str, str], message: str
) -> None:
    write(cast)

    answer = post(cast, cast.owner, "plan_product_add", **{"revision": "1", "code": "", **typed})

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert revision_of(cast) == "1"


def test_a_product_that_nothing_names_is_removed(cast: Cast) -> None:
    data = json.loads(PLAN)
    data["products"].append({"code": "TW", "name": "Tarrow Washed", "events": [], "steps": []})
    write(cast, json.dumps(data))
    asked = text_of(get(cast, cast.owner, "plan_product_remove", "TW"))

    answer = post(cast, cast.owner, "plan_product_remove", "TW", revision="1")

    assert "Remove “Tarrow Washed”?" in asked
    assert answer.status_code == 302
    assert "TW" not in [product["code"] for product in document_of(cast)["products"]]


def test_a_product_that_hazards_or_controls_name_is_kept_and_they_are_listed(cast: Cast) -> None:
    write(cast)
    asked = text_of(get(cast, cast.owner, "plan_product_remove", "TF"))

    answer = post(cast, cast.owner, "plan_product_remove", "TF", revision="1")

    assert "Remove it from the draft" not in asked
    assert answer.status_code == 409
    assert "is still named by" in text_of(answer)
    assert "CCP1" in text_of(answer)
    assert document_of(cast)["products"][0]["code"] == "TF"


@pytest.mark.parametrize("name", ["plan_product", "plan_product_remove", "plan_steps", "plan_events"])
def test_a_product_that_is_not_there_is_not_found(cast: Cast, name: str) -> None:
    write(cast)

    assert get(cast, cast.owner, name, "ZZ").status_code == 404
    assert post(cast, cast.owner, name, "ZZ", revision="1").status_code == 404


@pytest.mark.parametrize("name", ["plan_products", "plan_product_add"])
def test_without_a_draft_there_is_nothing_to_show(cast: Cast, name: str) -> None:
    assert get(cast, cast.owner, name).status_code == 404
    assert draft_of(cast) is None


@pytest.mark.parametrize("name", ["plan_product", "plan_product_remove"])
@pytest.mark.parametrize(
    ("who", "read", "written"),
    [
        ("owner", 200, (302, 409, 422)),
        ("maker", 200, (403,)),
        ("inspector", 200, (403,)),
        ("stranger", 404, (404,)),
    ],
)
def test_everybody_reads_and_a_qualified_individual_writes(
    cast: Cast, name: str, who: str, read: int, written: tuple[int, ...]
) -> None:
    write(cast)

    assert get(cast, getattr(cast, who), name, "TF").status_code == read
    assert post(cast, getattr(cast, who), name, "TF", revision="1").status_code in written
