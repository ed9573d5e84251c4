"""What stands beside a reading: the point or shared thing it was taken at, and its instrument."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from uuid import UUID

from django.utils.translation import gettext as _

from records.checks.instruments_used import overdue_readings
from records.checks.models import Reading
from records.checks.places import points_of
from records.checks.slots import parse_slot
from records.instruments.models import Instrument
from records.receiving.queries import loads_by_identity
from records.things.models import Thing
from safetyplan.establishments.localtime import LocalTime
from safetyplan.establishments.models import Establishment


@dataclass(frozen=True)
class Beside:
    """Where a reading was taken and with what, in words; "" where nothing is to be said."""

    place: str = ""
    tool: str = ""


NOTHING = Beside()
NONE: Mapping[UUID, Beside] = MappingProxyType({})


def beside_of(
    establishment: Establishment,
    readings: Sequence[Reading],
    as_of: int | None = None,
    clock: LocalTime | None = None,
) -> dict[UUID, Beside]:
    """Tell where each reading was taken and with what; the number of queries does not grow with them."""
    tools = _tools(establishment, readings, as_of, clock)
    places = _places(establishment, readings)
    return {row.pk: Beside(places[row.pk], tools.get(row.pk, "")) for row in readings}


def taken_at(establishment: Establishment, readings: Sequence[Reading]) -> dict[UUID, str]:
    """Name where each reading was taken: its load of milk, or its shared thing and point; "" for neither."""
    places = _places(establishment, readings)
    of_load = {row.pk: load for row in readings if (load := parse_slot(row.slot).load) is not None}
    loads = loads_by_identity(establishment, set(of_load.values()))
    return places | {pk: loads[load].code for pk, load in of_load.items() if load in loads}


def _places(establishment: Establishment, readings: Sequence[Reading]) -> dict[UUID, str]:
    names = {row.pk: parse_slot(row.slot) for row in readings}
    wanted = {name.thing for name in names.values() if name.thing is not None}
    codes = dict(Thing.objects.of(establishment).filter(pk__in=wanted).values_list("pk", "code"))
    points = points_of(establishment, readings)
    found = {}
    for row in readings:
        name = names[row.pk]
        thing = codes.get(name.thing, "") if name.thing else ""
        found[row.pk] = " ".join(part for part in (thing, points[row.pk]) if part)
    return found


def _tools(
    establishment: Establishment,
    readings: Sequence[Reading],
    as_of: int | None,
    clock: LocalTime | None,
) -> dict[UUID, str]:
    """Say with which instrument each reading was taken, and whether it was overdue for its check then."""
    using = {row.pk: row.instrument_id for row in readings if row.instrument_id is not None}
    overdue = overdue_readings(establishment, readings, as_of, clock)
    named = Instrument.objects.of(establishment).filter(pk__in=set(using.values()))
    codes = dict(named.values_list("pk", "code"))
    late = _("measured with %(code)s, OVERDUE for its check or known to be off")
    in_order = _("measured with %(code)s")
    return {pk: (late if pk in overdue else in_order) % {"code": codes[key]} for pk, key in using.items()}
