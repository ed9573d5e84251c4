"""The record of a day on paper."""

from datetime import date

from django.utils.translation import gettext as _

from records.deviations.queries import states
from records.inspection.frame import Frame
from records.inspection.tables import (
    deviation_blocks,
    event_grid,
    limits_block,
    reading_grid,
    slot_grid,
)
from records.signoff.queries import DaySheet, day_sheet, self_reviewed
from safetyplan.integrity import canonical
from safetyplan.plans.queries import in_force
from safetyplan.printing.document import Block, Document, Facts, Heading, SignatureBox, Text


def document(frame: Frame, day: date) -> Document:
    """Compose the whole record of a day."""
    sheet = day_sheet(frame.establishment, day, frame.clock, frame.issue.recorded_at, frame.as_of)
    version = in_force(frame.establishment, sheet.end, frame.as_of)
    own = self_reviewed(frame.establishment, {day}, frame.as_of)
    plan = version.plan() if version else None
    codes = sorted({state.slot.control.code for state in sheet.states})
    blocks: list[Block] = [Facts(_facts(frame, sheet))]
    if plan is not None:
        blocks += [Heading(_("Limits"), 1), limits_block(plan, codes)]
    blocks += [
        Heading(_("Checks of the day"), 1),
        slot_grid(frame, sheet.states),
        Heading(_("Readings"), 1),
        reading_grid(frame, sheet.readings, own),
        Heading(_("Events"), 1),
        event_grid(frame, sheet.events, with_lot=True, own=own),
        Heading(_("Deviations"), 1),
    ]
    found = states(frame.establishment, sheet.deviations, frame.as_of)
    for state in found:
        blocks += deviation_blocks(frame, state)
    if not found:
        blocks.append(Text(_("None.")))
    blocks += _signatures(frame, sheet, own)
    blocks += [Heading(_("Who is who"), 2), frame.key(), frame.caution()]
    title = _("Day record %(day)s") % {"day": day.isoformat()}
    head = frame.head(title, version, self_reviewed=bool(own))
    return Document(head, frame.foot(), tuple(blocks), frame.paper, frame.language)


def _facts(frame: Frame, sheet: DaySheet) -> tuple[tuple[str, str], ...]:
    if sheet.newest is None:
        signed = _("not signed")
    elif sheet.needs_signing_again:
        signed = _("needs signing again")
    else:
        signed = _("signed")
    production = _("no production") if sheet.no_production else ", ".join(lot.code for lot in sheet.lots)
    return (
        (_("Day"), sheet.day.isoformat()),
        (_("Signature"), signed),
        (_("Lots started"), production or "–"),
        (_("Readings"), str(len(sheet.readings))),
    )


def _signatures(frame: Frame, sheet: DaySheet, own: set[str]) -> list[Block]:
    blocks: list[Block] = [Heading(_("Sign-off"), 1)]
    if sheet.needs_signing_again:
        blocks.append(Text(_("Needs signing again: the record changed after the signature."), "strong"))
    for row in sheet.signed:
        self_reviewed = canonical.loads(row.self_reviewed.encode())
        words = _("Covers %(count)d records.") % {"count": len(canonical.loads(row.records.encode()))}
        if self_reviewed:
            words += " " + _("%(count)d of them self-reviewed. Reason: %(why)s") % {
                "count": len(self_reviewed),
                "why": row.self_review_reason,
            }
        blocks += [
            frame.signature(row, self_reviewed=bool(self_reviewed)),
            Text(f"{words} {row.note}".strip(), "small"),
        ]
    if not sheet.signed:
        blocks.append(SignatureBox(meaning=_("Reviewed the day's records")))
    return blocks
