"""The closed family of limits, and how a document becomes one of them."""

from collections.abc import Mapping

from safetyplan.calculation.limits.all_of import MOST_LEVELS, AllOf
from safetyplan.calculation.limits.attribute import Attribute
from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.held_for import HeldFor
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.shape import Limit, LimitError
from safetyplan.calculation.sentences import say

_PLAIN: tuple[type[Bound | Attribute | ReachedBy | HeldFor], ...] = (Bound, Attribute, ReachedBy, HeldFor)
KINDS: Mapping[str, type[Limit]] = {kind.kind: kind for kind in (*_PLAIN, AllOf)}


def load(document: object) -> Limit:
    """Make the limit a document describes. Raises LimitError, with words for whoever wrote the plan.

    A limit stays in the unit of its source; nothing is converted or rounded here.
    """
    return _load(document, 1)


def _load(document: object, level: int) -> Limit:
    if not isinstance(document, Mapping):
        raise LimitError(say("limit_not_a_document"))
    kind = document.get("kind")
    if kind == AllOf.kind and level <= MOST_LEVELS:
        return AllOf.from_document(document, lambda member: _load(member, level + 1))
    for plain in _PLAIN:
        if plain.kind == kind:
            return plain.from_document(document)
    raise LimitError(say("limit_unknown_kind", kind=str(kind)[:40]))
