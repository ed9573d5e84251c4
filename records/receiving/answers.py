"""What a person says to each warning about a load, before it is taken."""

from collections.abc import Mapping, Sequence

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from records.receiving.known import Caution
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean

REFUSED, TAKEN, ACCEPTED, KEPT_OUT, IN_MILK = "refused", "taken", "accepted", "kept_out", "in_milk"
# By what a warning is about: the answers, in the order in which they are offered.
ANSWERS: Mapping[str, tuple[tuple[str, str | Promise], ...]] = {
    "suspended": (
        (REFUSED, gettext_lazy("The load is refused")),
        (TAKEN, gettext_lazy("The load is taken in all the same: a deviation is opened")),
    ),
    "not_approved": (
        (REFUSED, gettext_lazy("The load is refused")),
        (ACCEPTED, gettext_lazy("The load is accepted by the person named below")),
    ),
    "certificate": (
        (REFUSED, gettext_lazy("The load is refused")),
        (ACCEPTED, gettext_lazy("The load is accepted by the person named below")),
    ),
    "treated": (
        (KEPT_OUT, gettext_lazy("The animal's milk was kept out")),
        (REFUSED, gettext_lazy("The load is refused")),
        (IN_MILK, gettext_lazy("Its milk may be in this load: a deviation is opened")),
    ),
}
DEVIATES = (TAKEN, IN_MILK)


def answered(
    cautions: Sequence[Caution], given: Mapping[str, str], accepted_by: str, *, refused: bool
) -> list[dict[str, str]]:
    """Give each warning with its answer, as it is recorded; refuse a warning without a fitting answer."""
    found = []
    for caution in cautions:
        words = {code: str(text) for code, text in ANSWERS[caution.code]}
        said = given.get(caution.key, "")
        if said not in words:
            raise BadInput(f"{caution.facts} {_('Say what holds for this load.')}", part=caution.key)
        if (said == REFUSED) and not refused:
            raise BadInput(_("Say what becomes of the milk that is refused."), part="outcome")
        person = clean(accepted_by, most=120, part="accepted_by") if said == ACCEPTED else ""
        if said == ACCEPTED and len(person) < 2:
            raise BadInput(_("Name the person who accepted the load."), part="accepted_by")
        found.append(
            {
                "key": caution.key,
                "facts": caution.facts,
                "said": said,
                "words": words[said],
                "by": person,
            }
        )
    return found
