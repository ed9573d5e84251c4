"""Every kind of limit at every edge, and what holds for all of them whatever the evidence."""

import json
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from safetyplan.calculation.judgement import Evidence, Measured, State
from safetyplan.calculation.limits.catalogue import KINDS, load
from safetyplan.calculation.limits.shape import Limit, events_of
from safetyplan.calculation.limits.table import judge_by_table
from safetyplan.calculation.series import Series
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.words import render
from tests.calculation.kind_cases import (
    CASES,
    CORRECTED,
    EDGES,
    NOT_OF_THE_KIND,
    WRONG,
    Case,
    decimal,
    documents,
    emptied,
)

DOCUMENTS = documents()


def named(document: Mapping[str, Any]) -> str:
    return f"{document['kind']} {DOCUMENTS.index(document)}"


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_kind_answers_at_its_edge_as_the_table_says(case: Case) -> None:
    judgement = load(case.document).judge(case.evidence)
    assert judgement.state is case.state
    assert render(judgement.sentence)


def test_every_kind_has_a_row_or_a_reason_for_every_edge() -> None:
    rows = {(case.kind, case.what) for case in CASES}
    asked = {(kind, edge) for kind in KINDS for edge in EDGES}
    assert asked - rows == set(NOT_OF_THE_KIND)


def test_what_was_superseded_is_gone_from_the_evidence_and_the_result_changes() -> None:
    for kind in KINDS:
        states = [case.state for case in CASES if case.kind == kind and case.what in (WRONG, CORRECTED)]
        assert states[0] is not State.WITHIN
        assert states[1] is State.WITHIN


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_without_anything_measured_no_kind_is_within(case: Case) -> None:
    assert load(case.document).judge(emptied(case.evidence)).state is not State.WITHIN


@pytest.mark.parametrize("document", DOCUMENTS, ids=named)
def test_a_kind_comes_back_from_its_document_and_can_be_described_and_drawn(
    document: Mapping[str, Any],
) -> None:
    limit = load(document)
    again = json.loads(json.dumps(limit.to_document()))
    assert load(again) == limit
    assert all(render(sentence) for sentence in limit.describe())
    assert all(render(part.label) for part in limit.parts())
    assert json.loads(json.dumps(limit.chart())) == limit.chart()
    assert json.loads(json.dumps(limit.judging_table(0, {}))) == limit.judging_table(0, {})


@pytest.mark.parametrize("document", DOCUMENTS, ids=named)
def test_a_kind_with_a_key_nobody_knows_is_refused(document: Mapping[str, Any]) -> None:
    with pytest.raises(ValueError, match="limit_unknown_key"):
        load({**document, "colour": "red"})


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_table_without_entries_never_says_within(case: Case) -> None:
    limit, evidence = load(case.document), case.evidence
    told = judge_by_table(limit.judging_table(0, evidence.events), [], evidence.now)
    assert told not in (State.WITHIN, State.OUTSIDE_TARGET)


MOMENTS = st.datetimes(datetime(2000, 1, 1), datetime(2100, 1, 1), timezones=st.just(UTC))  # noqa: DTZ001
NUMBERS = st.builds(decimal, st.integers(-(10**12), 10**12), st.integers(0, 9))
TEXTS = (
    st.none()
    | st.sampled_from(["<", ">", "on", "negative", "positive", "L1, L2", "detected"])
    | st.text(max_size=12)
)
LOGS = st.lists(st.tuples(st.integers(0, 10_000), st.integers(-5000, 200_000)), max_size=30)


@st.composite
def entries(draw: st.DrawFn, limit: Limit) -> Measured:
    """An entry of one of the limit's parts, or of a part nobody asked for."""
    name = draw(st.sampled_from([*(part.name for part in limit.parts()), "unasked"]))
    unit = draw(st.sampled_from([*UNITS, "", "nothing"]))
    value, at, text = draw(st.none() | NUMBERS), draw(st.none() | MOMENTS), draw(TEXTS)
    return Measured(name, value, unit, at, text=text, instrument_valid=draw(st.booleans()))


@st.composite
def logs(draw: st.DrawFn) -> Series:
    """A log of any unit, with gaps or none, valid or not."""
    start, pairs = draw(MOMENTS), dict(draw(LOGS))
    readings = [(start + timedelta(minutes=at), decimal(value, 3)) for at, value in pairs.items()]
    gap, unit = timedelta(minutes=draw(st.integers(1, 600))), draw(st.sampled_from(["degC", "degF", "kg"]))
    return Series.of(readings, unit=unit, longest_gap=gap, valid=draw(st.booleans()))


@st.composite
def anything(draw: st.DrawFn, limit: Limit) -> Evidence:
    """Evidence of any kind, sensible or not."""
    events = [*events_of(limit), "sold", "dispatched", "L1", "L2"]
    parts = [*(part.name for part in limit.parts()), "product", "air_space"]
    return Evidence(
        measured=tuple(draw(st.lists(entries(limit), max_size=8))),
        events=draw(st.dictionaries(st.sampled_from(events), MOMENTS, max_size=4)),
        now=draw(MOMENTS),
        ordinal=draw(st.integers(0, limit.points() - 1)),
        series=draw(st.dictionaries(st.sampled_from(parts), logs(), max_size=2)),
        zone=draw(st.sampled_from([UTC, ZoneInfo("Europe/Dublin"), ZoneInfo("America/Havana")])),
    )


@pytest.mark.parametrize("document", DOCUMENTS, ids=named)
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_no_evidence_makes_a_kind_raise_and_no_state_is_within_without_any(
    document: Mapping[str, Any], data: st.DataObject
) -> None:
    limit = load(document)
    evidence = data.draw(anything(limit))
    judgement = limit.judge(evidence)
    assert render(judgement.sentence)
    assert all(render(warning) for warning in judgement.warnings)
    assert all(render(refusal) for refusal in limit.refusals(evidence))
    assert type(judgement).from_document(json.loads(json.dumps(judgement.to_document()))) == judgement
    empty = limit.judge(replace(evidence, measured=(), series={}))
    assert empty.state in (State.NOT_SHOWN, State.NOT_YET_DUE, State.OUTSIDE_LIMIT)
