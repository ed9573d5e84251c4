"""Grids that the lot's and the day's print share: readings, events, deviations."""

from collections.abc import Collection, Sequence
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.models import LotEvent
from records.checks.due import SlotState, Status
from records.checks.judging import kept_parts
from records.checks.models import Reading, Rejudged
from records.deviations.models import Cause, Outcome
from records.deviations.queries import DeviationState, lines_of
from records.inspection.frame import Frame, joined
from safetyplan.calculation.judgement import State
from safetyplan.calculation.rounding import amount, trim
from safetyplan.establishments.queries import until
from safetyplan.integrity import canonical
from safetyplan.plans.document import Plan
from safetyplan.printing.document import (
    Block,
    Cell,
    Column,
    Facts,
    Grid,
    Heading,
    Limit,
    Limits,
    Row,
    RowState,
    Text,
)

STATES = {
    State.WITHIN: gettext_lazy("within"),
    State.OUTSIDE_TARGET: gettext_lazy("outside target"),
    State.OUTSIDE_LIMIT: gettext_lazy("OUTSIDE LIMIT"),
    State.NOT_YET_DUE: gettext_lazy("not yet due"),
    State.NOT_SHOWN: gettext_lazy("NOT SHOWN"),
    State.INSTRUMENT_NOT_VALID: gettext_lazy("INSTRUMENT NOT VALID"),
}


def state_word(state: str) -> str:
    """Give the word of a result against the limit."""
    return str(STATES.get(State(state), state)) if state else ""


def value_words(frame: Frame, reading: Reading) -> str:
    """Write what was read, each part with its unit."""
    if reading.voided:
        return _("void")
    parts = kept_parts(reading)
    shown = []
    for part in parts:
        text = part["value"]
        if part["entry"] == "number":
            text = amount(part["value"], part["unit"])
        elif part["entry"] == "time":
            text = frame.time(canonical.read_instant(part["value"]))[11:]
        label = part["name"].replace("_", " ")
        shown.append(text if len(parts) == 1 else f"{label} {text}")
    return ", ".join(shown)


def limits_block(plan: Plan, codes: Sequence[str]) -> Limits:
    """List the limits on the form."""
    from records.checks.judging import words

    return Limits(tuple(Limit(c.code, c.name, words(c.limit)) for c in plan.controls if c.code in codes))


def reading_rows(
    frame: Frame,
    readings: Sequence[Reading],
    own: Collection[str] = (),
) -> tuple[Row, ...]:
    """Give a row for each reading, corrected ones struck and still readable, each with its later self."""
    replaced = {r.supersedes_id: r for r in readings if r.supersedes_id}
    rejudged = _rejudged(frame, readings)
    return tuple(
        _reading_row(frame, r, replaced.get(r.pk), rejudged.get(r.pk, []), own=str(r.pk) in own)
        for r in readings
    )


def _rejudged(frame: Frame, readings: Sequence[Reading]) -> dict[object, list[Rejudged]]:
    found: dict[object, list[Rejudged]] = {}
    rows = until(Rejudged.objects.of(frame.establishment), frame.as_of)
    for row in rows.filter(reading__in=[r.pk for r in readings]).order_by("entry__sequence"):
        found.setdefault(row.reading_id, []).append(row)
    return found


def _reading_row(
    frame: Frame, reading: Reading, later: Reading | None, again: list[Rejudged], *, own: bool
) -> Row:
    notes = [
        _("self-reviewed") if own else "",
        _("late: %(why)s") % {"why": reading.late_reason or reading.reason} if reading.late else "",
        _("replaces the struck entry: %(why)s") % {"why": reading.reason} if reading.supersedes_id else "",
        *[
            _("judged again: %(state)s. %(said)s") % {"state": state_word(r.state), "said": r.sentence_text}
            for r in again
        ],
    ]
    if later is not None:
        notes.append(
            _("corrected %(at)s by %(who)s")
            % {"at": frame.time(later.recorded_at), "who": frame.initials(later.author_id)}
        )
    struck = later is not None
    state: RowState = "corrected" if struck else "late" if reading.late else ""
    state = "void" if reading.voided else state
    return Row(
        (
            Cell(frame.time(reading.observed_at)),
            Cell(frame.time(reading.recorded_at)),
            Cell(f"{reading.control} {reading.control_name}"),
            Cell(value_words(frame, reading), struck=struck, strong=not struck),
            Cell(state_word(reading.state), struck=struck),
            Cell(frame.initials(reading.author_id)),
            Cell(joined(notes)),
        ),
        state,
    )


def _reading_columns() -> tuple[Column, ...]:
    return (
        Column(_("Observed"), share=13),
        Column(_("Recorded"), share=13),
        Column(_("Check"), share=17),
        Column(_("Reading with unit"), share=20),
        Column(_("Result"), share=11),
        Column(_("By"), share=6),
        Column(_("Notes"), share=24),
    )


def reading_grid(
    frame: Frame,
    readings: Sequence[Reading],
    own: Collection[str] = (),
) -> Grid:
    """Give the grid of readings; `own` names those that their own author reviewed."""
    return Grid(_reading_columns(), reading_rows(frame, readings, own))


def event_grid(
    frame: Frame, events: Sequence[LotEvent], *, with_lot: bool, own: Collection[str] = ()
) -> Grid:
    """Give the grid of events."""
    replaced = {e.supersedes_id: e for e in events if e.supersedes_id}
    rows = tuple(
        _event_row(frame, e, replaced.get(e.pk), with_lot=with_lot, own=str(e.pk) in own) for e in events
    )
    columns = (
        Column(_("Happened"), share=14),
        Column(_("Recorded"), share=14),
        Column(_("Event"), share=20),
        Column(_("Details"), share=30),
        Column(_("By"), share=6),
        Column(_("Notes"), share=20),
    )
    return Grid(columns, rows)


def _event_row(frame: Frame, event: LotEvent, later: LotEvent | None, *, with_lot: bool, own: bool) -> Row:
    details = canonical.loads(event.details.encode())
    words = [f"{d['label']}: {amount(d['value'], d['unit']) if d['unit'] else d['value']}" for d in details]
    name = f"{event.lot.code}: {event.event_name}" if with_lot else event.event_name
    notes = [
        _("self-reviewed") if own else "",
        _("late: %(why)s") % {"why": event.late_reason or event.reason} if event.late else "",
        _("replaces the struck entry: %(why)s") % {"why": event.reason} if event.supersedes_id else "",
    ]
    struck = later is not None
    return Row(
        (
            Cell(frame.time(event.observed_at), struck=struck),
            Cell(frame.time(event.recorded_at)),
            Cell(name, strong=not struck),
            Cell(joined(words), struck=struck),
            Cell(frame.initials(event.author_id)),
            Cell(joined(notes)),
        ),
        "corrected" if struck else "late" if event.late else "",
    )


def slot_grid(frame: Frame, states: Sequence[SlotState]) -> Grid:
    """Give the grid of the checks that were due and where each stands."""
    words = {
        Status.WAITING: _("waits for its event"),
        Status.LATER: _("not yet due"),
        Status.DUE: _("due"),
        Status.OVERDUE: _("overdue"),
        Status.MISSING: _("MISSING"),
        Status.RECORDED: _("recorded"),
        Status.EXPLAINED: _("explained"),
    }
    rows = []
    for state in states:
        notes = [
            state.explanation.reason if state.explanation else "",
            *[_("deviation %(number)d") % {"number": d.number} for d in state.deviations],
        ]
        rows.append(
            Row(
                (
                    Cell(
                        frame.time(state.slot.due_at)
                        or _("after %(event)s") % {"event": state.slot.waits_for.replace("_", " ")}
                    ),
                    Cell(f"{state.slot.control.code} {state.slot.control.name}"),
                    Cell(state.lot.code if state.lot else "–"),
                    Cell(words[state.status], strong=state.status == Status.MISSING),
                    Cell(state_word(str(state.result or ""))),
                    Cell(joined(notes)),
                ),
                "missing" if state.status == Status.MISSING else "",
            )
        )
    columns = (
        Column(_("Due"), share=14),
        Column(_("Check"), share=26),
        Column(_("Lot"), share=12),
        Column(_("Where it stands"), share=14),
        Column(_("Result"), share=12),
        Column(_("Notes"), share=22),
    )
    return Grid(columns, tuple(rows))


def deviation_blocks(frame: Frame, state: DeviationState) -> list[Block]:
    """Tell a deviation from beginning to end."""
    d = state.deviation
    blocks: list[Block] = [
        Heading(
            _("Deviation %(number)d: %(what)s") % {"number": d.number, "what": str(Cause(d.cause).label)}, 2
        ),
        Facts(
            (
                (_("Opened"), f"{frame.time(d.recorded_at)}, {frame.name(d.author_id)}"),
                (_("Control"), f"{d.control} {d.control_name}" if d.control else "–"),
                (_("Lot"), d.lot.code if d.lot else "–"),
                (_("Hold required"), _("yes") if d.hold_required else _("no")),
            )
        ),
        Text(d.description),
    ]
    if d.limit_words:
        blocks.append(Text(_("Limit: %(words)s") % {"words": d.limit_words}, "small"))
    steps = _steps(frame, state)
    columns = (
        Column(_("When"), share=14),
        Column(_("Step"), share=16),
        Column(_("What was recorded"), share=58),
        Column(_("By"), share=6),
    )
    blocks.append(Grid(columns, steps))
    blocks += [frame.signature(row) for row in state.dispositions]
    if state.recall is not None:
        blocks.append(frame.signature(state.recall))
    if state.closure is not None:
        blocks.append(frame.signature(state.closure, self_reviewed=state.closure.self_reviewed))
    else:
        blocks.append(Text(_("This deviation is open."), "strong"))
    return blocks


def _steps(frame: Frame, state: DeviationState) -> tuple[Row, ...]:
    found: list[tuple[int, str, str, object, object]] = []

    def add(row: object, step: str, words: str) -> None:
        found.append((row.entry.sequence, step, words, row, row.author_id))  # type: ignore[attr-defined]

    for hold in state.holds:
        words = _("%(pieces)d pieces, %(kg)s kg at %(place)s, tag %(tag)s. %(why)s") % {
            "pieces": hold.pieces,
            "kg": hold.mass_text or "–",
            "place": hold.place,
            "tag": hold.tag,
            "why": hold.reason,
        }
        add(hold, _("hold confirmed"), words)
    for action in state.actions:
        add(action, _("corrective action"), action.text)
    for evaluation in state.evaluations:
        words = _("%(text)s Evidence: %(evidence)s") % {
            "text": evaluation.text,
            "evidence": evaluation.evidence,
        }
        add(evaluation, _("evaluation"), words)
    for attached in state.files:
        words = f"{attached.name} ({attached.size} B, SHA-256 {attached.sha256})"
        add(attached, _("document attached"), words)
    for disposition in state.dispositions:
        add(disposition, _("disposition"), disposition_words(disposition))
    for cause in state.causes:
        words = _("Cause: %(cause)s Prevention: %(prevention)s Under control: %(control)s Plan: %(plan)s") % {
            "cause": cause.cause,
            "prevention": cause.prevention,
            "control": cause.under_control,
            "plan": cause.reanalysis_reason,
        }
        add(cause, _("cause found"), words)
    if state.recall is not None:
        yes = _("recall") if state.recall.recall else _("no recall")
        add(state.recall, _("recall decision"), f"{yes}: {state.recall.reason}")
    if state.closure is not None:
        step = _("recording error") if state.closure.recording_error else _("closed")
        add(state.closure, step, state.closure.reason)
    return tuple(
        Row((Cell(frame.time(row.recorded_at)), Cell(step), Cell(words), Cell(frame.initials(author))))  # type: ignore[attr-defined]
        for _sequence, step, words, row, author in sorted(found, key=lambda item: item[0])
    )


def disposition_words(disposition: object) -> str:
    """Write the lines of a disposition and what they add up to."""
    lines = lines_of(disposition)  # type: ignore[arg-type]
    words = [
        joined([f"{Outcome(line['outcome']).label}: {line['pieces']} / {line['mass']} kg", line["note"]])
        for line in lines
    ]
    total = sum((Decimal(line["mass"]) for line in lines), Decimal(0))
    pieces = sum(int(line["pieces"]) for line in lines)
    return _("%(lines)s. Together %(pieces)d pieces, %(kg)s kg.") % {
        "lines": ". ".join(words),
        "pieces": pieces,
        "kg": trim(total),
    }
