"""Screen of the confirmations: the table of operating targets and the flows, each with a signature."""

from typing import Any

import pytest

from safetyplan.integrity.models import SignatureProof
from safetyplan.plans.figures import targets_value
from safetyplan.plans.models import FlowConfirmed, TargetsConfirmed
from tests.cast import PASSWORD, Cast
from tests.safetyplan.plans.editing.confirm_stage import (
    PRESENT,
    PRODUCT,
    card,
    page_of,
    sign_flow,
    sign_table,
)
from tests.safetyplan.plans.editing.programmes_stage import begun, document, send
from tests.web import entries, text_of


def test_the_table_lists_every_control_and_takes_one_signature(cast: Cast) -> None:
    begun(cast)

    before = page_of(cast)
    answer = sign_table(cast)

    assert all(f"<bdi>{control.code} {control.name}</bdi>" in before for control in PRESENT.controls)
    assert answer.status_code == 302
    row = TargetsConfirmed.objects.of(cast.dairy).get()
    assert [row.signed_name, row.table] == ["Owner Person", targets_value(PRESENT)]
    assert "Signed by Owner Person, 2026-05-14." in page_of(cast)


def test_a_changed_target_asks_for_the_table_again(cast: Cast) -> None:
    begun(cast)
    sign_table(cast)
    controls = document(cast)["controls"]
    controls[0]["limit"]["product_target"] = "65"

    page = page_of(begun(cast, controls=controls))

    assert "It changed since Owner Person signed it, 2026-05-14." in page


def test_a_limit_nobody_set_is_named_before_the_table_is_signed(cast: Cast) -> None:
    controls = document(begun(cast))["controls"]
    unset = {"kind": "open", "prompt": "Which pH by when?", "sources": [], "suggests": "reached_by"}
    controls[1]["limit"] = unset

    page = page_of(begun(cast, controls=controls))

    assert "No limit is set yet for: CCP2." in page
    assert "Which pH by when?" in page


def test_the_flow_is_listed_step_by_step_and_walked_on_site(cast: Cast) -> None:
    begun(cast)

    before = card(page_of(cast), PRODUCT.name)
    answer = sign_flow(cast)

    assert [before.index(f"<bdi>{step.name}</bdi>") for step in PRODUCT.steps] == sorted(
        before.index(f"<bdi>{step.name}</bdi>") for step in PRODUCT.steps
    )
    assert "Not walked" in before
    assert answer.status_code == 302
    assert FlowConfirmed.objects.of(cast.dairy).get().note == "Walked at six with the maker"
    after = card(page_of(cast), PRODUCT.name)
    assert "Walked and signed by Owner Person, 2026-05-14: Walked at six with the maker" in after


def test_a_branch_of_the_flow_is_written_out(cast: Cast) -> None:
    products = document(begun(cast))["products"]
    first, third = products[0]["steps"][0], products[0]["steps"][2]
    first["next"] = [third["code"]]

    page = page_of(begun(cast, products=products))

    assert f"then: <bdi>{third['name']}</bdi>" in page


@pytest.mark.parametrize(
    ("act", "changed", "status", "message"),
    [
        (sign_table, {"password": "wrong"}, 422, "The password does not match. Nothing was signed."),
        (sign_table, {"password": ""}, 422, "The password does not match. Nothing was signed."),
        (sign_table, {"value": "{}"}, 409, "The table changed meanwhile."),
        (sign_flow, {"password": "wrong"}, 422, "The password does not match. Nothing was signed."),
        (sign_flow, {"note": ""}, 422, "Say when the process was walked"),
        (sign_flow, {"note": "x" * 501}, 422, "at most 500 characters"),
        (sign_flow, {"value": "{}"}, 409, "The flow changed meanwhile."),
    ],
)
def test_a_signature_that_lacks_something_records_nothing_and_keeps_what_was_typed(
    cast: Cast, act: Any, changed: dict[str, str], status: int, message: str
) -> None:
    begun(cast)
    before = entries(cast.dairy)

    answer = act(cast, **changed)

    page = text_of(answer)
    assert answer.status_code == status
    assert message in page
    assert act is sign_table or changed.get("note", "Walked at six with the maker") in page
    assert PASSWORD not in page
    assert entries(cast.dairy) == before
    assert not SignatureProof.objects.filter(used_at__isnull=False).exists()
    assert act(cast).status_code == 302


@pytest.mark.parametrize("act", [sign_table, sign_flow])
def test_a_signature_sent_twice_is_one_record(cast: Cast, act: Any) -> None:
    begun(cast)
    act(cast)
    before = entries(cast.dairy)

    assert act(cast).status_code == 302
    assert entries(cast.dairy) == before


def test_the_flow_of_a_product_that_is_not_there_is_not_found(cast: Cast) -> None:
    begun(cast)

    assert send(cast, "plan_confirm_flow", "XX", value="{}").status_code == 404
