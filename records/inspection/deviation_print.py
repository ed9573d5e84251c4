"""A deviation on paper, from what opened it to its closure."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from records.deviations.affected import Affected, lines_of, quantity
from records.deviations.models import CalculationAttached, Cause, Disposition, Outcome
from records.deviations.queries import DeviationState
from records.inspection.frame import Frame
from records.inspection.look_back_print import looked_back_blocks
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
                (_("Lots"), ", ".join(one.name for one in state.affected if one.lot or one.what) or "–"),
                *([(_("Hold"), hold_words(state.affected[0], state))] if len(state.affected) == 1 else []),
            )
        ),
        Text(d.description),
    ]
    if d.limit_words:
        begin.append(Text(_("Judged by: %(words)s") % {"words": d.limit_words}, "small"))
    lots = [lot_grid(state)] if len(state.affected) > 1 else []
    return [
        KeepTogether(tuple(begin)),
        *lots,
        *looked_back_blocks(frame, state),
        _step_grid(frame, state),
        *_signatures(frame, state),
    ]


def hold_words(one: Affected, state: DeviationState) -> str:
    """Say whether a lot, or what is held that is no lot, stands apart."""
    if one.hold is not None:
        return _("confirmed, tag %(tag)s, %(place)s") % {"tag": one.hold.tag, "place": one.hold.place}
    if not one.hold_required:
        return _("not required")
    if one.all_left:
        return _("nothing of it is here any more")
    return _("REQUIRED, NOT CONFIRMED") if state.is_open else _("required, not confirmed")


def lot_grid(state: DeviationState) -> Grid:
    """Tell lot by lot what became of it, with the sum in the last row."""
    columns = (
        Column(_("Lot"), share=18),
        Column(_("Why"), share=26),
        Column(_("Had left"), share=9, align="right"),
        Column(_("Hold"), share=20),
        Column(_("On hold"), share=14),
        Column(_("Disposed of"), share=14),
        Column(_("Left to decide"), share=14),
    )
    rows = [
        (
            one.name,
            one.named.reason if one.named else "",
            str(one.sent or "–"),
            hold_words(one, state),
            quantity(one.held) if one.hold else "–",
            quantity(one.disposed) if one.dispositions else "–",
            quantity(one.left, litres=one.in_litres) if one.hold else "–",
        )
        for one in state.affected
    ]
    sent = str(sum(one.sent for one in state.affected) or "–")
    amounts = (quantity(state.held), quantity(state.disposed), quantity(state.left))
    together = Row(tuple(Cell(text, strong=True) for text in (_("Together"), "", sent, "", *amounts)))
    return Grid(columns, (*(Row(tuple(Cell(text) for text in row)) for row in rows), together))


def _signatures(frame: Frame, state: DeviationState) -> Iterator[Block]:
    for disposition in state.dispositions:
        yield frame.signature(disposition)
    for recall in state.recalls:
        yield frame.signature(recall)
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


def of_lot(state: DeviationState, name: str, words: str) -> str:
    """Begin with the lot where the deviation concerns several."""
    return f"{name}: {words}" if len(state.affected) > 1 and name else words


def _steps(state: DeviationState) -> Iterator[Step]:
    for name, hold in [(one.name, hold) for one in state.affected for hold in one.holds]:
        words = _("%(pieces)d pieces, %(kg)s kg at %(place)s, tag %(tag)s. %(why)s") % {
            "pieces": hold.pieces,
            "kg": hold.mass_text or "–",
            "place": hold.place,
            "tag": hold.tag,
            "why": hold.reason,
        }
        if hold.volume_text:
            words = _("%(litres)s L at %(place)s, tag %(tag)s. %(why)s") % {
                "litres": hold.volume_text,
                "place": hold.place,
                "tag": hold.tag,
                "why": hold.reason,
            }
        yield hold, _("hold confirmed"), of_lot(state, name, words.strip())
    for one in state.affected:
        if one.named and one.named.recorded_at != state.deviation.recorded_at:
            yield one.named, _("lot named"), of_lot(state, one.name, one.named.reason)
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
        lot = disposition.lot.code if disposition.lot else state.deviation.held_what or ""
        yield disposition, _("disposition"), of_lot(state, lot, disposition_words(disposition))
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
    for recall in state.recalls:
        decided = _("Recall") if recall.recall else _("No recall")
        yield recall, _("recall decision"), f"{decided}: {recall.reason}"
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
                f"{line['volume']} L" if line.get("volume") else "",
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
    if disposition.volume_text:
        together = f"{together}, {disposition.volume_text} L"
    return "\n".join([*words, together, *([disposition.note] if disposition.note else [])])
