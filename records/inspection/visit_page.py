"""The page of a visit: prints, record seals and how old the newest is, the export and its verifier."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.batches.models import Lot
from records.batches.queries import lots, similar_lot
from records.deviations.models import Deviation
from records.inspection.models import PrintIssue
from records.inspection.queries import issues
from records.inspection.services import (
    BLANK_DAY,
    DAY,
    INSTRUMENT,
    LABEL,
    LOT,
    PLAN,
    RECEIVING,
    REGISTER,
    SHEET,
    TAG,
)
from records.inspection.telling import Teller, on_screen
from records.instruments.models import Instrument
from safetyplan.establishments.models import Establishment
from safetyplan.integrity import clock, ledger, seals
from safetyplan.integrity.form_refusals import PlainForm
from safetyplan.integrity.models import RecordSeal
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.queries import in_force, versions

PAGE = 30
SEALS = 10
OLD = timedelta(hours=24)


class PrintLotForm(PlainForm):
    """Which lot to print."""

    what = forms.CharField(widget=forms.HiddenInput, initial=LOT, max_length=10)
    subject = forms.CharField(
        label=gettext_lazy("Lot code"),
        max_length=60,
        widget=forms.TextInput(attrs={"list": "recent-lots", "autocomplete": "off"}),
    )


class PrintDayForm(PlainForm):
    """Which day to print."""

    what = forms.CharField(widget=forms.HiddenInput, initial=DAY, max_length=10)
    subject = forms.CharField(
        label=gettext_lazy("Day"), max_length=20, widget=forms.TextInput(attrs={"type": "date"})
    )


class BlankDayForm(PrintDayForm):
    """For which day to print blank sheets."""

    what = forms.CharField(widget=forms.HiddenInput, initial=BLANK_DAY, max_length=10)


class PrintPlanForm(PlainForm):
    """Which version of the plan to print; empty for the one in force."""

    version = forms.CharField(widget=forms.HiddenInput, max_length=10, required=False)


class PrintSheetForm(PlainForm):
    """For which check of the plan in force to print a blank sheet."""

    version = forms.CharField(widget=forms.HiddenInput, max_length=10, required=False)
    control = forms.ChoiceField(label=gettext_lazy("Check"))

    def __init__(self, establishment: Establishment, *args: Any, **kwargs: Any) -> None:
        """Offer the checks of the plan in force."""
        super().__init__(*args, **kwargs)
        version = present_version(establishment)
        controls = version.plan().controls if version else ()
        field = self.fields["control"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(control.code, f"{control.code} {control.name}") for control in controls]


def present_version(establishment: Establishment) -> PlanApproved | None:
    """Give the version in force, or before the first takes effect the newest."""
    return in_force(establishment, clock.now(establishment)) or versions(establishment).first()


def version_asked(establishment: Establishment, sent: Mapping[str, str]) -> str:
    """Give the number of the version that a form asks for; without one that of the version in force."""
    typed = sent.get("version", "").strip()
    if typed:
        return typed.lstrip("0")[:20]
    present = present_version(establishment)
    if present is None:
        raise BadInput(_("There is no approved plan to print yet."))
    return str(present.number)


def visit_context(establishment: Establishment, before: str) -> dict[str, Any]:
    """Give what the page shows."""
    teller = on_screen(establishment)
    now = clock.now(establishment)
    size, _hash = ledger.head(establishment)
    return {
        **_prints(establishment, teller, before),
        "plan_version": present_version(establishment),
        "recent": lots(establishment)[:PAGE],
        **_seals(establishment, teller, now),
        "size": size,
        "public_key": seals.opening_of(establishment).public_key,
        "key_name": seals.opening_of(establishment).key_name,
        "today": teller.day(now).isoformat(),
    }


def _prints(establishment: Establishment, teller: Teller, before: str) -> dict[str, Any]:
    rows = issues(establishment)
    number = int(before) if before.isascii() and before.isdigit() and len(before) < 10 else None
    if number is not None:
        rows = rows.filter(number__lt=number)
    chosen = list(rows[: PAGE + 1])
    shown = chosen[:PAGE]
    names = subjects(establishment, shown)
    return {
        "prints": [
            {
                "number": issue.number,
                "what": names[issue.pk],
                "at": teller.time(issue.recorded_at),
                "by": teller.name(issue.author_id),
                "as_of": issue.as_of,
            }
            for issue in shown
        ],
        "older_url": f"?before={shown[-1].number}" if len(chosen) > PAGE else "",
        "newer_url": "?" if number is not None else "",
    }


def subjects(establishment: Establishment, shown: list[PrintIssue]) -> dict[Any, str]:
    """Name what each issue prints, in a constant number of queries."""
    ids = {what: [i.subject for i in shown if i.what == what] for what in (LOT, LABEL, TAG)}
    codes = {str(k): v for k, v in _lots_by_id(establishment, [*ids[LOT], *ids[LABEL]])}
    tags = _tags(establishment, ids[TAG])
    tools = _instruments(establishment, [i.subject for i in shown if i.what == INSTRUMENT])
    return {issue.pk: _subject(issue, codes, tags, tools) for issue in shown}


def _subject(issue: PrintIssue, codes: dict[str, str], tags: dict[str, str], tools: dict[str, str]) -> str:
    number, _slash, code = issue.subject.partition("/")
    found = {
        LOT: (_("Lot %(code)s"), codes),
        LABEL: (_("Label of lot %(code)s"), codes),
        TAG: (_("Hold tag, deviation %(code)s"), tags),
        INSTRUMENT: (_("Instrument %(code)s"), tools),
    }
    if issue.what in found:
        words, names = found[issue.what]
        return words % {"code": names.get(issue.subject, "?")}
    if issue.what == SHEET:
        return _("Blank sheet %(code)s, plan version %(number)s") % {"code": code, "number": number}
    if issue.what == REGISTER:
        return _("Register of instruments")
    plain = {
        RECEIVING: _("Receiving log %(of)s"),
        PLAN: _("Plan, version %(of)s"),
        BLANK_DAY: _("Blank sheets for %(of)s"),
    }
    return plain.get(issue.what, _("Day %(of)s")) % {"of": issue.subject}


def _tags(establishment: Establishment, subjects: list[str]) -> dict[str, str]:
    """Name the hold tags: the deviation's number, and the lot where it is one of several."""
    pairs = {subject: subject.split("/", 1) for subject in subjects if "/" in subject}
    alone = [subject for subject in subjects if subject not in pairs]
    numbers = Deviation.objects.of(establishment).filter(pk__in=alone).values_list("pk", "number")
    codes = {str(pk): code for pk, code in _lots_by_id(establishment, [lot for _n, lot in pairs.values()])}
    named = {subject: f"{number}, {codes.get(lot, '?')}" for subject, (number, lot) in pairs.items()}
    return {**{str(pk): str(number) for pk, number in numbers}, **named}


def _instruments(establishment: Establishment, ids: list[str]) -> dict[str, str]:
    rows = Instrument.objects.of(establishment).filter(pk__in=ids).values_list("pk", "code")
    return {str(pk): code for pk, code in rows}


def _lots_by_id(establishment: Establishment, ids: list[str]) -> Any:
    return Lot.objects.of(establishment).filter(pk__in=ids).values_list("pk", "code")


def _seals(establishment: Establishment, teller: Teller, now: datetime) -> dict[str, Any]:
    rows = list(RecordSeal.objects.of(establishment).order_by("-size", "-id")[:SEALS])
    listed = [
        {
            "pk": row.pk,
            "size": row.size,
            "at": teller.time(row.sealed_at),
            "reason": row.reason.replace("_", " "),
            "root": [row.root[start : start + 8] for start in range(0, 64, 8)],
        }
        for row in rows
    ]
    age = now - rows[0].sealed_at if rows else None
    return {
        "seals": listed,
        "newest": listed[0] if listed else None,
        "age_hours": int(age.total_seconds() // 3600) if age is not None else None,
        "age_minutes": int(age.total_seconds() // 60) if age is not None else None,
        "old": age is None or age > OLD,
    }


def subject_of(establishment: Establishment, what: str, typed: str) -> str:
    """Turn a typed lot code into the lot's identity; anything else is passed on as it is."""
    if what != LOT or len(typed) == 36:
        return typed
    found = similar_lot(establishment, " ".join(typed.split()))
    if found is None:
        raise BadInput(_("There is no lot with this code."), part="subject")
    return str(found.pk)


def file_name(establishment: Establishment, issue: PrintIssue) -> str:
    """Name the file of an issue, in plain letters."""
    words = subjects(establishment, [issue])[issue.pk].lower()
    kept = "".join(c if c.isascii() and c.isalnum() else "-" for c in words)
    return f"{'-'.join(part for part in kept.split('-') if part)}-print-{issue.number}.pdf"
