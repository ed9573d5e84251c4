"""Day sign-offs on paper: those of a day, and those that cover a lot's records."""

from datetime import date

from django.utils.translation import gettext as _

from records.inspection.frame import Frame
from records.signoff.models import DaySigned
from records.signoff.queries import DaySheet
from safetyplan.establishments.queries import until
from safetyplan.integrity import canonical
from safetyplan.printing.document import Block, Heading, KeepTogether, SignatureBox, Text


def names_in(text: str) -> set[str]:
    """Read a list of record names kept in a signature."""
    value = canonical.loads(text.encode())
    assert isinstance(value, list)
    return {str(item) for item in value}


def day_blocks(frame: Frame, sheet: DaySheet) -> list[Block]:
    """Give the signatures of a day, the newest last; without any, a box to sign by hand."""
    blocks: list[Block] = [Heading(_("Sign-off"), 1)]
    if sheet.needs_signing_again:
        blocks.append(Text(_("NEEDS SIGNING AGAIN: the record changed after the signature."), "strong"))
    replaced = {row.supersedes_id for row in sheet.signed}
    for row in sheet.signed:
        words = [_words(row)]
        if row.pk in replaced:
            words.append(_("A later signature replaces this one."))
        if row.note:
            words.append(_("Note: %(note)s") % {"note": row.note})
        own = bool(names_in(row.self_reviewed))
        boxed = (frame.signature(row, self_reviewed=own), Text(" ".join(words), "small"))
        blocks.append(KeepTogether(boxed))
    if not sheet.signed:
        blocks.append(SignatureBox(meaning=_("Reviewed the day's records")))
    return blocks


def _words(row: DaySigned) -> str:
    words = _("Covers %(count)d records.") % {"count": len(names_in(row.records))}
    own = names_in(row.self_reviewed)
    if own:
        words += " " + _("%(count)d of them self-reviewed. Reason: %(why)s") % {
            "count": len(own),
            "why": row.self_review_reason,
        }
    return words


def lot_blocks(frame: Frame, of_lot: dict[date, set[str]]) -> list[Block]:
    """Give the newest signature of each day on which records of a lot were made, and what it covers."""
    blocks: list[Block] = [Heading(_("Sign-off of the days"), 1)]
    rows = until(DaySigned.objects.of(frame.establishment), frame.as_of).filter(day__in=list(of_lot))
    newest = {row.day: row for row in rows.order_by("entry__sequence")}
    for day in sorted(of_lot):
        blocks += _day_of_lot(frame, day, of_lot[day], newest.get(day))
    return blocks


def _day_of_lot(frame: Frame, day: date, records: set[str], newest: DaySigned | None) -> list[Block]:
    if newest is None:
        words = _("%(day)s: NOT SIGNED. %(count)d records of this lot were made on this day.")
        return [Text(words % {"day": day.isoformat(), "count": len(records)}, "strong")]
    covered = records & names_in(newest.records)
    own = covered & names_in(newest.self_reviewed)
    words = _("%(day)s: covers %(covered)d of the %(count)d records of this lot made on this day.")
    lines = [words % {"day": day.isoformat(), "covered": len(covered), "count": len(records)}]
    if own:
        lines.append(
            _("%(count)d of them self-reviewed. Reason: %(why)s")
            % {"count": len(own), "why": newest.self_review_reason}
        )
    boxed: list[Block] = [
        frame.signature(newest, self_reviewed=bool(own)),
        Text(" ".join(lines), "small"),
    ]
    if covered != records:
        boxed.append(Text(_("NEEDS SIGNING AGAIN: the record changed after the signature."), "strong"))
    return [KeepTogether(tuple(boxed))]
