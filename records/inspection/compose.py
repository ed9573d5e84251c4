"""From an issue to its document. Pure: sees only what was recorded up to the issue's sequence."""

from datetime import date
from uuid import UUID

from django.utils.translation import gettext as _
from django.utils.translation import override

from records.batches.models import Lot
from records.deviations.models import Deviation
from records.deviations.queries import state_of
from records.inspection import (
    blank_sheet,
    day_print,
    day_sheets,
    instrument_print,
    lot_print,
    plan_print,
    receiving_print,
)
from records.inspection.frame import Frame
from records.inspection.models import PrintIssue
from records.inspection.queries import tag_subject, version_printed
from records.inspection.telling import FORM
from safetyplan.printing.hold_tag import Tag, render_tag
from safetyplan.printing.lot_label import Label, render_label
from safetyplan.printing.render import render

TEMPLATE_VERSION = FORM


def render_issue(issue: PrintIssue) -> bytes:
    """Render an issue: the same issue always gives the same bytes."""
    frame = Frame.of(issue)
    with override(issue.language):
        if issue.what == "lot":
            lot = (
                Lot.objects.of(issue.establishment).select_related("plan_version").get(pk=UUID(issue.subject))
            )
            return render(lot_print.document(frame, lot))
        if issue.what == "day":
            return render(day_print.document(frame, date.fromisoformat(issue.subject)))
        if issue.what == "receiving":
            return render(receiving_print.document(frame, issue.subject))
        if issue.what == "blank_day":
            return render(day_sheets.document(frame, date.fromisoformat(issue.subject)))
        if issue.what == "plan":
            return render(plan_print.document(frame, version_printed(issue.establishment, issue.subject)))
        if issue.what == "instrument":
            return render(instrument_print.document(frame, issue.subject))
        if issue.what == "register":
            return render(instrument_print.register_document(frame))
        if issue.what == "sheet":
            number, _slash, code = issue.subject.partition("/")
            version = version_printed(issue.establishment, number)
            return render(blank_sheet.document(frame, version, code))
        if issue.what == "label":
            return render_label(label(frame, Lot.objects.of(issue.establishment).get(pk=UUID(issue.subject))))
        return render_tag(tag(frame, *tag_subject(issue.establishment, issue.subject)))


def label(frame: Frame, lot: Lot) -> Label:
    """Compose the label of a lot."""
    return Label(
        establishment=frame.details.name,
        lot_code=lot.code,
        product=lot.product_name,
        started=frame.time(lot.started_at),
        issue=_("Print issue %(number)d") % {"number": frame.issue.number},
        demonstration=frame.establishment.demonstration,
        language=frame.language,
    )


def tag(frame: Frame, deviation: Deviation, lot: Lot | None) -> Tag:
    """Compose the tag of a hold; what is not confirmed yet stays to be filled in by hand."""
    state = state_of(frame.establishment, deviation, frame.as_of)
    one = (state.of(lot) if lot else None) or state.affected[0]
    hold, lot = one.hold, one.lot
    return Tag(
        establishment=frame.details.name,
        address=frame.details.address,
        tag_number=hold.tag if hold else "",
        lot_code=lot.code if lot else one.what,
        lot_label=_("Lot") if lot else _("What"),
        product=lot.product_name if lot else deviation.control_name,
        place=hold.place if hold else "",
        pieces=str(hold.pieces) if hold else "",
        kilograms=hold.mass_text if hold else "",
        litres=(hold.volume_text or "") if hold else "",
        deviation_number=str(deviation.number),
        reason=deviation.description,
        held_at=frame.time(hold.held_at) if hold else "",
        held_by=frame.name(hold.author_id) if hold else "",
        caution=_("Only the responsible person may release this product, by signature."),
        foot=frame.foot(),
        demonstration=frame.establishment.demonstration,
        language=frame.language,
    )
