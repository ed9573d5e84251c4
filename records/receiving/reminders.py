"""What has to be looked after at the door: certificates, approvals, treated animals, notices, old lots."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.urls import reverse
from django.utils.translation import gettext as _

from records.receiving.known import Known
from records.receiving.models import Approval
from records.receiving.queries import ingredients, notices_due
from safetyplan.establishments.models import Establishment

SOON = timedelta(days=14)
LONG_PAST = timedelta(days=366)


@dataclass(frozen=True)
class Reminder:
    """One line: its state and word, the text, where it leads."""

    mark: str
    word: str
    text: str
    url: str


def reminders(establishment: Establishment, about: Known, now: datetime) -> list[Reminder]:
    """Give what is due or soon due, what has passed first."""
    day = about.clock.local(now).date()
    slug = establishment.slug
    found = [
        *_notices(establishment, about, now),
        *_certificates(about, day, slug),
        *_approvals(about, day, slug),
        *_treated(about, now, slug),
        *_ingredients(establishment, day, slug),
    ]
    order = {"overdue": 0, "hold": 1, "due": 2}
    return sorted(found, key=lambda one: order.get(one.mark, 3))


def _notices(establishment: Establishment, about: Known, now: datetime) -> list[Reminder]:
    found = []
    for row in notices_due(establishment):
        late = row.deadline is not None and row.deadline < now
        by = about.clock.local(row.deadline).strftime("%Y-%m-%d %H:%M") if row.deadline else "–"
        words = _("Tell %(authority)s about load %(load)s, by %(at)s.")
        text = words % {"authority": row.authority, "load": row.load.code, "at": by}
        url = reverse("load", args=[establishment.slug, row.load_id])
        found.append(Reminder("overdue" if late else "due", "", text, url))
    return found


def _certificates(about: Known, day: date, slug: str) -> list[Reminder]:
    found = []
    for row in about.ending(day):
        late = row.valid_until < day
        name = about.suppliers[row.supplier_id].name
        if row.herd_id:
            name = f"{name}, {about.herds[row.herd_id].name}"
        words = _("%(name)s: “%(certificate)s” expires on %(day)s.")
        if late:
            words = _("%(name)s: “%(certificate)s” expired on %(day)s.")
        told = {"name": name, "certificate": row.name, "day": row.valid_until.isoformat()}
        url = reverse("supplier", args=[slug, row.supplier_id])
        found.append(Reminder("overdue" if late else "due", _("Expired") if late else "", words % told, url))
    return found


def _approvals(about: Known, day: date, slug: str) -> list[Reminder]:
    found = []
    for supplier in about.suppliers.values():
        if supplier.closed:
            continue
        for who in (None, *(herd.identity for herd in about.herds_of(supplier.identity))):
            row = about.approval(who or supplier.identity)
            if row is None or row.status == Approval.SUSPENDED or row.valid_until is None:
                continue
            if row.valid_until >= day + SOON:
                continue
            name = supplier.name if who is None else f"{supplier.name}, {about.herds[who].name}"
            told = {"name": name, "day": row.valid_until.isoformat()}
            late = row.valid_until < day
            words = _("The approval of %(name)s ended on %(day)s.")
            if not late:
                words = _("The approval of %(name)s ends on %(day)s.")
            url = reverse("supplier", args=[slug, supplier.identity])
            found.append(Reminder("overdue" if late else "due", "", words % told, url))
    return found


def _treated(about: Known, now: datetime, slug: str) -> list[Reminder]:
    return [
        Reminder(
            "hold",
            _("Milk stays out"),
            about.treated_words(row),
            reverse("supplier", args=[slug, about.herds[row.herd_id].supplier_id]),
        )
        for row in about.milk_out(now)
    ]


def _ingredients(establishment: Establishment, day: date, slug: str) -> list[Reminder]:
    """Give the ingredient lots past their use-by, or near it, of which something is left."""
    rows = ingredients(establishment).filter(ended=False, use_by__lt=day + SOON, use_by__gte=day - LONG_PAST)
    found = []
    for row in rows.order_by("use_by"):
        late = row.use_by < day
        told = {"name": row.name, "code": row.code, "day": row.use_by.isoformat()}
        words = _("%(name)s, lot %(code)s: use by %(day)s.")
        url = reverse("ingredient", args=[slug, row.identity])
        found.append(
            Reminder("overdue" if late else "due", _("Past use-by") if late else "", words % told, url)
        )
    return found
