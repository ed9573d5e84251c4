"""A calculation attached to a deviation as evidence: computed again, kept with its working."""

from collections.abc import Mapping

from django.db import transaction
from django.utils.translation import gettext as _

from records.deviations.kinds import CALCULATION_ATTACHED
from records.deviations.models import CalculationAttached, Deviation
from records.deviations.services import open_state
from safetyplan.calculation.worked.catalogue import CALCULATORS
from safetyplan.calculators.reading import LONGEST_TEXT, fields_of, work
from safetyplan.calculators.showing import in_words, inputs_in_words, title
from safetyplan.establishments.access import WRITERS, require_role
from safetyplan.establishments.models import Establishment, Person
from safetyplan.integrity import canonical, ledger
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean


def attach_calculation(
    *,
    establishment: Establishment,
    by: Person,
    deviation: Deviation,
    calculator: str,
    task: str,
    typed: Mapping[str, str],
    note: str = "",
    claim: Claim | None = None,
) -> CalculationAttached:
    """Attach a calculation to an open deviation: its inputs, result and working, as codes and as words.

    The result is computed here from what was typed; what a page showed is not taken over. It is evidence for
    the person who evaluates and decides nothing.
    """
    require_role(establishment, by, *WRITERS)
    try:
        found = CALCULATORS[calculator]
        chosen = found.task(task)
    except KeyError as error:
        raise BadInput(_("There is no such calculator.")) from error
    inputs = {name: clean(typed.get(name, ""), most=LONGEST_TEXT, part=name) for name in fields_of(chosen)}
    worked = work(chosen, inputs)
    shown = {**in_words(worked), "inputs": [list(pair) for pair in inputs_in_words(chosen, inputs)]}
    with transaction.atomic():
        ledger.lock(establishment)
        open_state(establishment, deviation)
        row = CalculationAttached(
            deviation=deviation,
            calculator=calculator,
            task=chosen.name,
            title=title(found, chosen),
            inputs=canonical.dumps(inputs).decode(),
            worked=canonical.dumps(worked.to_document()).decode(),
            shown=canonical.dumps(shown).decode(),
            note=clean(note, most=1000, part="note"),
        )
        ledger.append(kind=CALCULATION_ATTACHED, row=row, establishment=establishment, author=by, claim=claim)
    return row
