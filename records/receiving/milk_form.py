"""The form of a load of milk: what is asked, filled in beforehand, and what was typed into the service."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.utils.translation import gettext_lazy as _

from records.batches.posting import MomentForm, moment, now_typed
from records.receiving.answers import ANSWERS, REFUSED
from records.receiving.forms import INITIALS, choice, day, late, lines, number, time, why, words
from records.receiving.known import Caution, Known, known
from records.receiving.models import Herd, MilkLoad, MilkOutcome, Species, Supplier
from records.receiving.noted import DETAILS, Detail, checked_by, unit_of
from records.receiving.posting import sure
from records.receiving.queries import similar_load, usable
from records.receiving.refusing import RefusalContent
from records.receiving.services import LoadContent
from records.receiving.typed import moment_typed
from safetyplan.calculation.unit_tables import UNITS
from safetyplan.establishments.localtime import ZoneTime
from safetyplan.establishments.models import Establishment
from safetyplan.establishments.queries import details_of, zone_of
from safetyplan.integrity import canonical, clock
from safetyplan.integrity.form_refusals import Typed
from safetyplan.integrity.refusals import BadInput
from safetyplan.plans.queries import in_force

MILKINGS = 4
FIELDS = {"received_at": "on_time", "refused_at": "on_time", **{}}
GROUPS = ("source", "warnings", "milk", "milkings", "noted", "rest")


@dataclass(frozen=True)
class Source:
    """Where a load comes from, and what is known of it."""

    about: Known
    supplier: Supplier
    herd: Herd | None


class MilkForm(MomentForm):
    """A load of milk, in groups of a few fields each."""

    code = words(_("Number of the load"), 60)
    species = choice(_("Species"), Species.choices)
    volume = number(_("Volume"))
    tank = words(_("Tank"), 60, required=False)
    late_reason = late()

    def __init__(
        self,
        *args: Any,
        establishment: Establishment,
        cautions: Sequence[Caution],
        details: Sequence[Detail],
        kits: Sequence[tuple[str, str]],
        changes: bool = False,
        of_sheet: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        unit = UNITS[details_of(establishment).volume_unit].symbol
        self.fields["volume"].label = _("Volume in %(unit)s") % {"unit": unit}
        self.fields["on_date"].label, self.fields["on_time"].label = _("Received on"), _("Received at")
        self.groups: dict[str, list[str]] = {
            "warnings": self._add_warnings(cautions, changes=changes),
            "milk": ["volume", "tank", "species", "code"],
            "milkings": self._add_milkings(),
            "noted": self._add_details(establishment, details, kits),
            "rest": ["on_date", "on_time", "late_reason"],
        }
        if of_sheet:
            self.fields[INITIALS] = words(_("Initials on the sheet"), 6)
            self.groups["rest"] = ["on_date", "on_time", INITIALS]
        if changes:
            self.fields["code"].disabled = True
            self.fields["reason"] = why(_("Reason for the change"))
            self.groups["rest"].append("reason")

    def _add_warnings(self, cautions: Sequence[Caution], *, changes: bool) -> list[str]:
        names = []
        for caution in cautions:
            self.fields[caution.key] = forms.CharField(
                label=caution.facts, widget=forms.RadioSelect(choices=ANSWERS[caution.code]), max_length=20
            )
            names.append(caution.key)
        if any(caution.code in ("not_approved", "certificate") for caution in cautions):
            self.fields["accepted_by"] = words(_("Accepted by"), required=False)
            names.append("accepted_by")
        if cautions and not changes:
            self.fields["outcome"] = choice(_("If refused: what becomes of it"), MilkOutcome.choices)
            self.fields["outcome"].required = False
            self.fields["why"] = why(_("If refused: why"), required=False)
            self.fields["told"] = words(_("If refused: who was told"), 200, required=False)
            names += ["outcome", "why", "told"]
        return names

    def _add_milkings(self) -> list[str]:
        names = []
        for n in range(1, MILKINGS + 1):
            self.fields[f"milking_{n}_date"] = day(_("Milking %(n)d on") % {"n": n}, required=n == 1)
            self.fields[f"milking_{n}"] = time(_("Milking %(n)d at") % {"n": n}, required=n == 1)
            names += [f"milking_{n}_date", f"milking_{n}"]
            fold = forms.CharField(required=False, max_length=1, widget=forms.HiddenInput)
            self.fields[f"milking_{n}_fold"] = fold
        return names

    def _add_details(
        self, establishment: Establishment, details: Sequence[Detail], kits: Sequence[tuple[str, str]]
    ) -> list[str]:
        names = []
        for detail in details:
            if detail.quantity:
                symbol = UNITS[unit_of(establishment, detail)].symbol
                label = detail.label if symbol == "pH" else f"{detail.label} ({symbol})"
                self.fields[detail.name] = number(label, required=False)
            elif detail.options:
                self.fields[detail.name] = choice(detail.label, detail.options, required=False)
            elif detail.name == "inhibitor_read":
                self.fields[detail.name] = time(detail.label)
            else:
                self.fields[detail.name] = words(detail.label, 200, required=False)
            names.append(detail.name)
        self.fields["kit"] = choice(_("Lot of the inhibitor test"), kits, required=False)
        self.fields["kit_statement"] = forms.CharField(
            label=_("Why this lot of tests was used"),
            max_length=500,
            required=False,
            widget=lines(),
            help_text=_("Only needed when it is past its last day or was discarded."),
        )
        return [*names, "kit", "kit_statement"]

    def grouped(self) -> list[tuple[str, list[Any]]]:
        """Give the groups that have fields, each with its fields in order."""
        return [(name, [self[f] for f in fields]) for name, fields in self.groups.items() if fields]


def source_of(establishment: Establishment, supplier: UUID, herd: UUID | None) -> Source | None:
    """Find the supplier and herd of a load; None when they are not known or do not belong together."""
    about = known(establishment)
    found = about.suppliers.get(supplier)
    of_herd = about.herds.get(herd) if herd else None
    if (
        found is None
        or not found.gives_milk
        or (herd and (of_herd is None or of_herd.supplier_id != supplier))
    ):
        return None
    return Source(about, found, of_herd)


def make_form(
    establishment: Establishment,
    source: Source,
    typed: Typed | None,
    load: MilkLoad | None = None,
    sheet_day: date | None = None,
) -> MilkForm:
    """Make the form: as it was typed, else filled in beforehand from the load or for a new one.

    sheet_day: the day of the paper sheet on which the load stands; then the initials on it are asked.
    """
    version = in_force(establishment, clock.now(establishment))
    done = checked_by(version.plan() if version else None)
    herd = source.herd.identity if source.herd else None
    received, milkings = _times(establishment, typed, load)
    more: dict[str, Any] = {
        "establishment": establishment,
        "cautions": source.about.warnings(source.supplier.identity, herd, received, milkings),
        "details": [detail for detail in DETAILS if detail.name not in done],
        "kits": _kits(establishment, load),
        "changes": load is not None,
        "of_sheet": sheet_day is not None,
    }
    if typed is not None:
        return MilkForm({**typed, **({"code": load.code} if load else {})}, **more)
    initial = filled(establishment, load) if load else _fresh(establishment, source)
    if sheet_day is not None:
        initial |= {"on_date": f"{sheet_day:%Y-%m-%d}", "on_time": ""}
    return MilkForm(initial=initial, **more)


def _kits(establishment: Establishment, load: MilkLoad | None) -> list[tuple[str, str]]:
    found = usable(establishment, "kit", clock.now(establishment))
    listed = {str(row.identity): f"{row.name} {row.code}" for row in found}
    if load is not None and load.kit is not None:
        listed.setdefault(str(load.kit_id), f"{load.kit.name} {load.kit.code}")
    return list(listed.items())


def _times(
    establishment: Establishment, typed: Typed | None, load: MilkLoad | None
) -> tuple[datetime, list[datetime]]:
    """Give receipt and milkings as far as they can be read: warnings are asked for these."""
    now = clock.now(establishment)
    if typed is None:
        return (load.received_at, milkings_of(load)) if load else (now, [now])
    try:
        received = moment(establishment, typed, reason="x")
    except BadInput:
        received = now
    try:
        milkings = _milkings(establishment, typed)
    except BadInput:
        milkings = []
    return received, milkings or [received]


def milkings_of(load: MilkLoad) -> list[datetime]:
    """Give the instants of the milkings of a load."""
    return [canonical.read_instant(text) for text in canonical.loads(load.milkings.encode())]


def _fresh(establishment: Establishment, source: Source) -> dict[str, str]:
    local = ZoneTime(zone_of(establishment)).local(clock.now(establishment))
    days = {f"milking_{n}_date": f"{local - timedelta(days=2 - n):%Y-%m-%d}" for n in (1, 2)}
    return {
        "code": free_number(establishment, local),
        "species": source.herd.species if source.herd else "",
        **days,
        **now_typed(establishment),
    }


def free_number(establishment: Establishment, local: datetime) -> str:
    """Suggest the number of a load: M with month and day, numbered from the second load of a day on."""
    first = f"M-{local:%m%d}"
    for code in (first, *(f"{first}-{again}" for again in range(2, 30))):
        if similar_load(establishment, code) is None:
            return code
    return ""


def filled(establishment: Establishment, load: MilkLoad) -> dict[str, str]:
    """Give a load as it would be typed."""
    local = ZoneTime(zone_of(establishment))
    received = local.local(load.received_at)
    found = {
        "code": load.code,
        "species": load.species,
        "volume": load.volume_text,
        "tank": load.tank,
        "kit": str(load.kit_id or ""),
        "on_date": f"{received:%Y-%m-%d}",
        "on_time": f"{received:%H:%M}",
        "late_reason": load.late_reason,
    }
    for n, at in enumerate(milkings_of(load), start=1):
        there = local.local(at)
        found |= {f"milking_{n}_date": f"{there:%Y-%m-%d}", f"milking_{n}": f"{there:%H:%M}"}
    for said in load.said():
        found[said["key"]] = said["said"]
        found["accepted_by"] = said["by"] or found.get("accepted_by", "")
        if said["key"] == "kit":
            found["kit_statement"] = said["words"]
    return found | {detail["name"]: detail["raw"] for detail in load.noted()}


def _milkings(establishment: Establishment, said: Typed) -> list[datetime]:
    found = []
    for n in range(1, MILKINGS + 1):
        date_text, time_text = said.get(f"milking_{n}_date", ""), said.get(f"milking_{n}", "")
        if time_text.strip():
            fold = said.get(f"milking_{n}_fold", "")
            found.append(moment_typed(establishment, date_text, time_text, part=f"milking_{n}", fold=fold))
    return found


def content_of(establishment: Establishment, source: Source, said: Typed) -> LoadContent:
    """Read what was typed of a load."""
    late_reason = said.get("late_reason", "")
    received = moment(establishment, said, reason=late_reason or said.get("reason", ""))
    answers = {name: text for name, text in said.items() if _is_answer(name)}
    refusal = None
    if REFUSED in answers.values() and said.get("outcome"):
        refusal = RefusalContent(
            outcome=said["outcome"],
            why=said.get("why", ""),
            told=said.get("told", ""),
            refused_at=received,
            late_reason=late_reason,
        )
    return LoadContent(
        supplier=source.supplier.identity,
        herd=source.herd.identity if source.herd else None,
        species=said.get("species", ""),
        milkings=_milkings(establishment, said),
        received_at=received,
        volume=said.get("volume", ""),
        code=said.get("code", ""),
        tank=said.get("tank", ""),
        kit=_uuid(said.get("kit", "")),
        details=_details(establishment, said),
        statements=answers,
        accepted_by=said.get("accepted_by", ""),
        kit_statement=said.get("kit_statement", ""),
        late_reason=late_reason,
        refusal=refusal,
        sure=sure(said, "volume"),
    )


def _is_answer(name: str) -> bool:
    return name in ("suspended", "not_approved") or name.startswith(("certificate_", "treated_"))


def _details(establishment: Establishment, said: Typed) -> Mapping[str, str]:
    """Give what was noted, without what the plan checks: those values are readings."""
    version = in_force(establishment, clock.now(establishment))
    names = {detail.name for detail in DETAILS} - checked_by(version.plan() if version else None)
    return {name: text for name, text in said.items() if name.removesuffix("_sure") in names}


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text) if text.strip() else None
    except ValueError as error:
        raise BadInput(_("Choose one of the list."), part="kit") from error


def units(establishment: Establishment) -> dict[str, str]:
    """Give the unit of each field that holds a number."""
    numbers = {detail.name: unit_of(establishment, detail) for detail in DETAILS if detail.quantity}
    return {"volume": details_of(establishment).volume_unit, **numbers}
