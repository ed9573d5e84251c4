"""A deviation on paper, from what opened it to its closure."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from records.deviations.models import CalculationAttached, Cause, Disposition, Outcome
from records.deviations.queries import DeviationState, lines_of
from records.inspection.frame import Frame
from records.inspection.telling import joined
from safetyplan.calculation.rounding import trim
from safetyplan.printing.document import (
    Block,
    Cell,
    Column,
    Facts,
    Grid,
    Heading,
    KeepTogether,
    Row,
    Text,
)

Step = tuple[Any, str, str]


def deviation_blocks(frame: Frame, state: DeviationState) -> list[Block]:
    """Tell a deviation from beginning to end."""
    d = state.deviation
    title = _("Deviation %(number)d: %(what)s") % {"number": d.number, "what": Cause(d.cause).label}
    begin: list[Block] = [
        Heading(title, 2),
        Facts(
            (
                (_("Opened"), f"{frame.time(d.recorded_at)}, {frame.name(d.author_id)}"),
                (_("Control"), f"{d.control} {d.control_name}" if d.control else "–"),
                (_("Lot"), d.lot.code if d.lot else "–"),
                (_("Hold"), _hold_words(state)),
            )
        ),
        Text(d.description),
    ]
    if d.limit_words:
        begin.append(Text(_("Judged by: %(words)s") % {"words": d.limit_words}, "small"))
    return [KeepTogether(tuple(begin)), _step_grid(frame, state), *_signatures(frame, state)]


def _hold_words(state: DeviationState) -> str:
    if state.hold is not None:
        return _("confirmed, tag %(tag)s, %(place)s") % {"tag": state.hold.tag, "place": state.hold.place}
    if not state.deviation.hold_required:
        return _("not required")
    return _("REQUIRED, NOT CONFIRMED") if state.is_open else _("required, not confirmed")


def _signatures(frame: Frame, state: DeviationState) -> Iterator[Block]:
    for disposition in state.dispositions:
        yield frame.signature(disposition)
    if state.recall is not None:
        yield frame.signature(state.recall)
    if state.closure is not None:
        yield frame.signature(state.closure, self_reviewed=state.closure.self_reviewed)
    else:
        yield Text(_("This deviation is OPEN: no reviewer has closed it."), "strong")


def _step_grid(frame: Frame, state: DeviationState) -> Grid:
    columns = (
        Column(_("When"), share=12),
        Column(_("Step"), share=16),
        Column(_("What was recorded"), share=60),
        Column(_("By"), share=6),
    )
    found = sorted(_steps(state), key=lambda step: (step[0].recorded_at, step[0].entry.sequence))
    return Grid(
        columns,
        tuple(
            Row(
                (
                    Cell(frame.time(row.recorded_at)),
                    Cell(step, strong=True),
                    Cell(words),
                    Cell(frame.initials(row.author_id)),
                )
            )
            for row, step, words in found
        ),
    )


def _steps(state: DeviationState) -> Iterator[Step]:
    for hold in state.holds:
        words = _("%(pieces)d pieces, %(kg)s kg at %(place)s, tag %(tag)s. %(why)s") % {
            "pieces": hold.pieces,
            "kg": hold.mass_text or "–",
            "place": hold.place,
            "tag": hold.tag,
            "why": hold.reason,
        }
        yield hold, _("hold confirmed"), words.strip()
    for action in state.actions:
        yield action, _("corrective action"), action.text
    for evaluation in state.evaluations:
        words = _("%(text)s\nEvidence: %(evidence)s")
        yield (
            evaluation,
            _("evaluation"),
            words % {"text": evaluation.text, "evidence": evaluation.evidence},
        )
    for attached in state.files:
        words = f"{attached.name} ({attached.size} B)\nSHA-256 {attached.sha256}"
        yield attached, _("document attached"), words
    for calculation in state.calculations:
        yield calculation, _("calculation attached"), calculation_words(calculation)
    for disposition in state.dispositions:
        yield disposition, _("disposition"), disposition_words(disposition)
    yield from _conclusions(state)


def _conclusions(state: DeviationState) -> Iterator[Step]:
    for cause in state.causes:
        words = _(
            "Cause: %(cause)s\nPrevention: %(prevention)s\nUnder control again: %(control)s\n"
            "Plan reanalysed: %(answer)s. %(plan)s"
        ) % {
            "cause": cause.cause,
            "prevention": cause.prevention,
            "control": cause.under_control,
            "answer": _("yes") if cause.reanalysis else _("no"),
            "plan": cause.reanalysis_reason,
        }
        yield cause, _("cause found"), words
    if state.recall is not None:
        decided = _("Recall") if state.recall.recall else _("No recall")
        yield state.recall, _("recall decision"), f"{decided}: {state.recall.reason}"
    if state.closure is not None:
        step = _("recording error") if state.closure.recording_error else _("closed")
        yield state.closure, step, state.closure.reason


def calculation_words(calculation: CalculationAttached) -> str:
    """Write an attached calculation as it was shown: inputs, result, working, validity, cautions, sources."""
    words = calculation.words()
    given = [f"{name}: {' | '.join(text.splitlines())}" for name, text in words["inputs"]]
    steps = [f"{number}. {step}" for number, step in enumerate(words["steps"], start=1)]
    sections = (
        ("", [calculation.title]),
        (_("Given"), given),
        (_("Result"), words["result"]),
        (_("Working"), steps),
        (_("Holds where"), words["validity"]),
        (_("Caution"), words["cautions"]),
        (_("Source"), words["sources"]),
        (_("Note"), [calculation.note] if calculation.note else []),
    )
    lines = []
    for heading, told in sections:
        lines += [heading.upper()] if heading and told else []
        lines += told
    return "\n".join(lines)


def disposition_words(disposition: Disposition) -> str:
    """Write the lines of a disposition and what they add up to."""
    lines = lines_of(disposition)
    methods = {"heat": _("by heat"), "other": _("not by heat"), "": ""}
    words = [
        joined(
            [
                _("%(outcome)s: %(pieces)d pieces, %(kg)s kg")
                % {
                    "outcome": Outcome(line["outcome"]).label,
                    "pieces": int(line["pieces"]),
                    "kg": line["mass"],
                },
                methods.get(line.get("method", ""), ""),
                line["note"],
            ]
        )
        for line in lines
    ]
    together = _("together: %(pieces)d pieces, %(kg)s kg") % {
        "pieces": sum(int(line["pieces"]) for line in lines),
        "kg": trim(sum((Decimal(line["mass"]) for line in lines), Decimal(0))),
    }
    return "\n".join([*words, together, *([disposition.note] if disposition.note else [])])
