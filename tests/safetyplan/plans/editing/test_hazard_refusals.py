"""What a hazard cannot say: refused at its field, with everything typed still there."""

from typing import Any

import pytest

from tests.cast import Cast
from tests.safetyplan.plans.editing.hazards_stage import begun, data_of, revision, send, typed_hazard
from tests.web import text_of

REFUSED: list[tuple[dict[str, Any], str]] = [
    ({"name": "  "}, "Name the hazard in words."),
    ({"name": "12"}, "Name the hazard in words."),
    ({"name": "x" * 201}, "at most 200 characters"),
    ({"name": "a\x00b"}, "Null characters are not allowed."),
    ({"name": "a\ufdd0b"}, "cannot be kept"),
    ({"kind": ""}, "Choose what kind of hazard it is."),
    ({"kind": "spiritual"}, "spiritual is not one of the available choices"),
    ({"group": "spices"}, "spices is not one of the available choices"),
    ({"significant": ""}, "Say whether the hazard is significant: Yes or No."),
    ({"significant": "perhaps"}, "perhaps is not one of the available choices"),
    ({"reason": "-"}, "Say in words why it is significant or not."),
    ({"removed_by_reheating": ""}, "Say whether heating again removes it: Yes or No."),
    ({"severity": "4"}, "a number alone says nothing here"),
    ({"likelihood": "3 x 5"}, "a number alone says nothing here"),
    ({"severity": "long " * 300}, "at most 1000 characters"),
    ({"products": []}, "Choose the products that have this hazard at this step."),
    ({"products": ["ZZ"]}, "ZZ is not one of the available choices"),
    ({"products": ["AA", "BB"]}, "Not in the flow of Birch Salted"),
    ({"step": "moon"}, "moon is not one of the available choices"),
    ({"effect": "blessed"}, "blessed is not one of the available choices"),
    ({"measure_type": "magic"}, "magic is not one of the available choices"),
    ({"where": "later_step"}, "Say which later step controls it."),
    ({"where": "later_step", "controlled_step": "receive"}, "In the flow of Alder Fresh this step does not"),
    ({"where": "later_step", "controlled_step": "pack"}, "In the flow of Alder Fresh this step does not"),
    ({"controlled_by": "CCP1"}, "CCP1 Heat treatment is a critical control point, not a prerequisite"),
    ({"controlled_by": "CCP9"}, "CCP9 is not one of the available choices"),
    ({"agent": "unicorn"}, "unicorn is not one of the available choices"),
    ({"agent": "salmonella"}, "The list has “Salmonella” as a biological hazard."),
    ({"kind": "chemical", "agent": "allergen_milk"}, "in the group “allergen”"),
    ({"removed_by_reheating": "yes"}, "Heating again does not remove a physical hazard: choose No."),
]


@pytest.mark.parametrize(("changes", "message"), REFUSED, ids=[str(c)[:40] for c, _ in REFUSED])
def test_what_cannot_be_said_is_refused_at_its_field_and_stays(
    cast: Cast, changes: dict[str, Any], message: str
) -> None:
    begun(cast)
    before = data_of(cast)

    answer = send(cast, cast.owner, "plan_hazard_add", typed=typed_hazard(cast, **changes))

    page = text_of(answer).replace("&#x27;", "'")
    assert answer.status_code == 422
    assert message in page
    assert "Wires are counted at every cleaning." in page or "reason" in changes
    assert data_of(cast) == before
    assert send(cast, cast.owner, "plan_hazard_add", typed=typed_hazard(cast)).status_code == 302


HEAT: list[tuple[dict[str, Any], bool]] = [
    ({"kind": "biological", "group": ""}, True),
    ({"kind": "biological", "group": "environmental_pathogen"}, True),
    ({"kind": "biological", "group": "", "agent": "salmonella"}, True),
    ({"kind": "biological", "group": "toxin"}, False),
    ({"kind": "biological", "group": "", "agent": "norovirus"}, False),
    ({"kind": "chemical", "group": ""}, False),
    ({"kind": "chemical", "group": "allergen"}, False),
    ({"kind": "chemical", "group": "drug_residue"}, False),
    ({"kind": "physical", "group": "", "agent": "metal"}, False),
    ({"kind": "radiological", "group": ""}, False),
]


@pytest.mark.parametrize(("changes", "may"), HEAT, ids=[str(list(c.values())) for c, _ in HEAT])
def test_only_what_heat_removes_can_be_marked_as_removed_by_reheating(
    cast: Cast, changes: dict[str, Any], may: bool
) -> None:
    """What a toxin, a residue, an allergen, metal or radioactivity does is not undone by heating again."""
    begun(cast)
    yes = typed_hazard(cast, **changes, removed_by_reheating="yes")
    no = typed_hazard(cast, **changes)

    answer = send(cast, cast.owner, "plan_hazard_add", typed=yes)
    other = send(cast, cast.owner, "plan_hazard_add", typed={**no, "revision": revision(cast)})

    assert answer.status_code == (302 if may else 422)
    assert ("choose No." in text_of(answer)) == (not may)
    assert other.status_code == 302


def test_all_faults_are_told_at_once(cast: Cast) -> None:
    begun(cast)

    page = text_of(send(cast, cast.owner, "plan_hazard_add", typed={"revision": revision(cast)}))

    assert "Name the hazard in words." in page
    assert "Choose what kind of hazard it is." in page
    assert "Say whether heating again removes it" in page
