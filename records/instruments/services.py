"""Changes to the register of instruments."""

from django.db import transaction
from django.utils.translation import gettext as _

from records.instruments.kinds import INSTRUMENT
from records.instruments.models import Instrument
from safetyplan.calculation.unit_tables import QUANTITIES
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import latest
from safetyplan.integrity import ledger
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean


def register_instrument(
    *,
    establishment: Establishment,
    by: Person,
    code: str,
    name: str,
    quantity: str,
    tolerance: str = "",
    retired: bool = False,
    supersedes: Instrument | None = None,
) -> Instrument:
    """Register an instrument, or record a change to it."""
    require_role(establishment, by, *WRITERS)
    tidy = clean(code, most=30, part="code")
    if not tidy or not clean(name, most=120, part="name"):
        raise BadInput(_("Give the instrument a code and a name."), part="code")
    if quantity not in QUANTITIES:
        raise BadInput(_("Choose what the instrument measures."), part="quantity")
    with transaction.atomic():
        ledger.lock(establishment)
        twins = latest(Instrument.objects.of(establishment)).filter(code=tidy)
        if supersedes is None and twins.exists():
            raise BadInput(_("Another instrument has this code."), part="code")
        row = Instrument(
            code=tidy,
            name=clean(name, most=120),
            quantity=quantity,
            tolerance_text=clean(tolerance, most=20),
            retired=retired,
            supersedes=supersedes,
        )
        ledger.append(kind=INSTRUMENT, row=row, establishment=establishment, author=by)
    return row
