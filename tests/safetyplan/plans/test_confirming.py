"""Services of the confirmations: who may, what is refused, what is recorded; all verified by the ledger."""

import json
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from safetyplan.establishments.models import Person
from safetyplan.integrity.models import Entry, Recorded, StoredFile
from safetyplan.integrity.refusals import BadInput, NotAllowed, Refused
from safetyplan.integrity.signatures import prove
from safetyplan.integrity.verification import verify
from safetyplan.plans.confirming import (
    confirm_figure,
    confirm_flow,
    confirm_targets,
    keep_evidence,
    note_trigger,
    sign_duty,
)
from safetyplan.plans.document import read
from safetyplan.plans.figures import figures, flow_value, targets_value
from safetyplan.plans.models import (
    DutyDone,
    EvidenceKept,
    FigureConfirmed,
    FlowConfirmed,
    ReanalysisTrigger,
    TargetsConfirmed,
)
from tests.builders import at, hours
from tests.cast import PASSWORD, Cast
from tests.safetyplan.plans.stage import PLAN, write
from tests.web import entries

PRESENT = read(json.loads(PLAN))
FIGURE = figures(PRESENT)[0]
PRODUCT = PRESENT.products[0]
TODAY = date(2026, 5, 14)
PDF = b"%PDF-1.7 an invented report"


def figure(cast: Cast, who: Person, **changed: Any) -> FigureConfirmed:
    """Confirm the first figure."""
    typed = {"what": FIGURE.what, "value": FIGURE.value, "source": "Annex III, read that day"}
    return confirm_figure(establishment=cast.dairy, by=who, **{**typed, **changed})


def targets(cast: Cast, who: Person, **changed: Any) -> TargetsConfirmed:
    """Sign the table."""
    typed = {"proof": cast.proof(who), "value": targets_value(PRESENT)}
    return confirm_targets(establishment=cast.dairy, **{**typed, **changed})


def flow(cast: Cast, who: Person, **changed: Any) -> FlowConfirmed:
    """Sign the flow of the first product."""
    typed = {"product": PRODUCT.code, "value": flow_value(PRODUCT), "note": "Walked with the maker"}
    return confirm_flow(establishment=cast.dairy, **{"proof": cast.proof(who), **typed, **changed})


def evidence(cast: Cast, who: Person, **changed: Any) -> EvidenceKept:
    """Keep a document."""
    return keep_evidence(
        establishment=cast.dairy, by=who, **{"name": "report.pdf", "content": PDF, **changed}
    )


def trigger(cast: Cast, who: Person, **changed: Any) -> ReanalysisTrigger:
    """Note that a vat is new."""
    typed = {"trigger": "equipment", "text": "A new vat", "happened_on": TODAY}
    return note_trigger(establishment=cast.dairy, by=who, **{**typed, **changed})


def duty(cast: Cast, who: Person, **changed: Any) -> DutyDone:
    """Sign a reanalysis."""
    typed = {"duty": "reanalysis", "outcome": "unchanged", "text": "All steps walked", "done_on": TODAY}
    return sign_duty(establishment=cast.dairy, **{"proof": cast.proof(who), **typed, **changed})


ACTS: list[Callable[..., Recorded]] = [figure, targets, flow, evidence, trigger, duty]
SIGNED: list[Callable[..., Recorded]] = [targets, flow, duty]
KINDS = {
    figure: "figure_confirmed",
    targets: "targets_confirmed",
    flow: "flow_confirmed",
    evidence: "evidence_kept",
    trigger: "reanalysis_trigger",
    duty: "duty_done",
}


@pytest.fixture
def drafted(cast: Cast) -> Cast:
    """Write the invented plan as the draft."""
    write(cast)
    return cast


@pytest.mark.parametrize("act", ACTS)
def test_each_act_writes_one_entry_after_the_last_and_it_verifies(drafted: Cast, act: Any) -> None:
    before = entries(drafted.dairy)
    with at(drafted.dairy, hours(1)):
        row = act(drafted, drafted.owner)

    entry = Entry.objects.of(drafted.dairy).get(pk=row.pk)
    assert [entry.sequence, entry.kind] == [before + 1, KINDS[act]]
    assert row.author_id == drafted.owner.pk
    assert row.recorded_at == hours(1)
    assert verify(drafted.dairy) == []


def test_all_acts_one_after_the_other_leave_a_gapless_ledger(drafted: Cast) -> None:
    with at(drafted.dairy, hours(1)):
        for act in ACTS:
            act(drafted, drafted.owner)

    sequences = list(Entry.objects.of(drafted.dairy).order_by("sequence").values_list("sequence", flat=True))
    assert sequences == list(range(1, len(sequences) + 1))
    assert verify(drafted.dairy) == []


@pytest.mark.parametrize("act", ACTS)
@pytest.mark.parametrize("who", ["inspector", "stranger"])
def test_whoever_may_not_write_records_nothing(drafted: Cast, act: Any, who: str) -> None:
    person = getattr(drafted, who)
    proof = {"proof": prove(establishment=drafted.dairy, person=person, password=PASSWORD)}
    before = entries(drafted.dairy)

    with at(drafted.dairy, hours(1)), pytest.raises(NotAllowed):
        act(drafted, person, **(proof if act in SIGNED else {}))

    assert entries(drafted.dairy) == before


@pytest.mark.parametrize("act", [a for a in ACTS if a is not trigger])
@pytest.mark.parametrize("who", ["maker", "reviewer"])
def test_makers_and_reviewers_do_not_confirm(drafted: Cast, act: Any, who: str) -> None:
    with at(drafted.dairy, hours(1)), pytest.raises(NotAllowed):
        act(drafted, getattr(drafted, who))


def test_a_maker_may_note_that_something_is_new(drafted: Cast) -> None:
    with at(drafted.dairy, hours(1)):
        assert trigger(drafted, drafted.maker).author_id == drafted.maker.pk


@pytest.mark.parametrize(
    ("act", "changed", "part"),
    [
        (figure, {"source": " \n"}, "source"),
        (figure, {"source": "x" * 501}, "source"),
        (figure, {"source": "a\0b"}, "source"),
        (flow, {"note": " "}, "note"),
        (flow, {"note": "x" * 501}, "note"),
        (evidence, {"content": b""}, "file"),
        (evidence, {"content": b"<html>"}, "file"),
        (evidence, {"content": b"\x00\x01"}, "file"),
        (evidence, {"content": b"a" * (10 * 1024 * 1024 + 1)}, "file"),
        (trigger, {"trigger": "weather"}, "trigger"),
        (trigger, {"text": ""}, "text"),
        (trigger, {"happened_on": date(2026, 5, 15)}, "happened_on"),
        (trigger, {"happened_on": date(1, 1, 1)}, "happened_on"),
        (duty, {"duty": "nothing"}, "duty"),
        (duty, {"text": "\t"}, "text"),
        (duty, {"outcome": "x" * 41}, "outcome"),
        (duty, {"done_on": date(2026, 5, 15)}, "done_on"),
    ],
)
def test_what_is_missing_or_odd_is_refused_at_its_field(
    drafted: Cast, act: Any, changed: dict[str, Any], part: str
) -> None:
    before = entries(drafted.dairy)

    with at(drafted.dairy, hours(1)), pytest.raises(BadInput) as refused:
        act(drafted, drafted.owner, **changed)

    assert refused.value.part == part
    assert entries(drafted.dairy) == before


@pytest.mark.parametrize("act", [figure, targets, flow])
def test_a_value_that_changed_meanwhile_is_not_confirmed(drafted: Cast, act: Any) -> None:
    changed = json.loads(PLAN)
    changed["controls"][0]["limit"]["product_at_least"] = "63.5"
    changed["products"][0]["steps"][0]["name"] = "Milk comes"
    write(drafted, json.dumps(changed))
    before = entries(drafted.dairy)

    with at(drafted.dairy, hours(1)), pytest.raises(Refused, match="changed meanwhile"):
        act(drafted, drafted.owner)

    assert entries(drafted.dairy) == before


def test_a_target_may_change_without_the_limit_asking_to_be_confirmed_again(drafted: Cast) -> None:
    changed = json.loads(PLAN)
    changed["controls"][0]["limit"]["product_target"] = "65"
    write(drafted, json.dumps(changed))

    with at(drafted.dairy, hours(1)):
        figure(drafted, drafted.owner)
        with pytest.raises(Refused, match="The table changed meanwhile"):
            targets(drafted, drafted.owner)


@pytest.mark.parametrize(
    ("act", "changed"),
    [(figure, {"what": "limit:CCP9"}), (figure, {"what": ""}), (flow, {"product": "XX"})],
)
def test_what_the_plan_does_not_have_is_not_confirmed(
    drafted: Cast, act: Any, changed: dict[str, Any]
) -> None:
    with at(drafted.dairy, hours(1)), pytest.raises(Refused, match="changed meanwhile"):
        act(drafted, drafted.owner, **changed)


@pytest.mark.parametrize("act", [figure, targets, flow])
def test_without_a_plan_there_is_nothing_to_confirm(cast: Cast, act: Any) -> None:
    with at(cast.dairy, hours(1)), pytest.raises(Refused, match="changed meanwhile"):
        act(cast, cast.owner)


def test_without_a_draft_the_newest_approved_version_is_confirmed(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        row = figure(working, working.owner, source="Read again after a year")

    assert row.recorded_at == hours(1)


@pytest.mark.parametrize("act", ACTS)
def test_the_same_thing_sent_twice_is_one_record(drafted: Cast, act: Any) -> None:
    with at(drafted.dairy, hours(1)):
        first = act(drafted, drafted.owner)
    before = entries(drafted.dairy)
    with at(drafted.dairy, hours(2)):
        second = act(drafted, drafted.owner)

    assert second.pk == first.pk
    assert entries(drafted.dairy) == before


def test_another_source_is_another_record_and_the_first_stays(drafted: Cast) -> None:
    with at(drafted.dairy, hours(1)):
        figure(drafted, drafted.owner)
        figure(drafted, drafted.owner, source="The same annex, consolidated text")
        figure(drafted, drafted.owner)

    rows = FigureConfirmed.objects.of(drafted.dairy).order_by("entry__sequence")
    assert [row.source for row in rows] == [
        "Annex III, read that day",
        "The same annex, consolidated text",
        "Annex III, read that day",
    ]


def test_a_figure_changed_and_changed_back_can_be_confirmed_anew(drafted: Cast) -> None:
    changed = json.loads(PLAN)
    changed["controls"][0]["limit"]["product_at_least"] = "63.5"
    other = figures(read(changed))[0]
    with at(drafted.dairy, hours(1)):
        figure(drafted, drafted.owner)
        write(drafted, json.dumps(changed))
        figure(drafted, drafted.owner, value=other.value)
        write(drafted, PLAN)
        figure(drafted, drafted.owner)

    assert FigureConfirmed.objects.of(drafted.dairy).count() == 3


def test_a_record_keeps_the_figure_in_words_as_it_then_read(drafted: Cast) -> None:
    with at(drafted.dairy, hours(1)):
        row = figure(drafted, drafted.owner, source="  Annexe é  ")

    assert "lowest product temperature at least 63 °C" in row.words
    assert row.source == "Annexe é"  # trimmed, and in one Unicode form


def test_a_signature_carries_name_meaning_and_roles(drafted: Cast) -> None:
    with at(drafted.dairy, hours(1)):
        row = flow(drafted, drafted.owner)

    assert row.signed_name == "Owner Person"
    assert row.signed_meaning == "Confirms on site that the product is made as its flow diagram says"
    assert "qualified" in row.signed_roles


@pytest.mark.parametrize("act", [flow, duty])
def test_a_signature_is_good_once(drafted: Cast, act: Any) -> None:
    with at(drafted.dairy, hours(1)):
        proof = drafted.proof(drafted.owner)
        targets(drafted, drafted.owner, proof=proof)
        before = entries(drafted.dairy)

        with pytest.raises(Refused, match="already used"):
            act(drafted, drafted.owner, proof=proof)

    assert entries(drafted.dairy) == before


def test_a_refused_flow_leaves_the_signature_unused(drafted: Cast) -> None:
    with at(drafted.dairy, hours(1)):
        proof = drafted.proof(drafted.owner)
        with pytest.raises(BadInput):
            flow(drafted, drafted.owner, proof=proof, note="")

        assert flow(drafted, drafted.owner, proof=proof).signed_proof == proof.pk


def test_the_same_bytes_are_kept_once_and_their_second_name_is_recorded(drafted: Cast) -> None:
    with at(drafted.dairy, hours(1)):
        first = evidence(drafted, drafted.owner)
        second = evidence(drafted, drafted.owner, name="C:\\scans\\report 2.pdf")

    assert [first.name, second.name] == ["report.pdf", "report 2.pdf"]
    assert first.sha256 == second.sha256
    assert StoredFile.objects.of(drafted.dairy).filter(sha256=first.sha256).count() == 1
    assert [first.media_type, first.size] == ["application/pdf", len(PDF)]


def test_a_code_too_long_for_a_record_is_refused_in_words(drafted: Cast) -> None:
    changed = json.loads(PLAN)
    changed["controls"][0]["code"] = code = "C" * 200
    changed["controls"] = changed["controls"][:1]
    for hazard in changed["hazards"]:
        hazard["controlled_by"] = code
    write(drafted, json.dumps(changed))
    long = figures(read(changed))[0]

    with at(drafted.dairy, hours(1)), pytest.raises(Refused, match="is too long"):
        figure(drafted, drafted.owner, what=long.what, value=long.value)
