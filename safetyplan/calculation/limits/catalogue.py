"""The closed family of limits, and how a document becomes one of them."""

from collections.abc import Callable, Mapping
from typing import Any

from safetyplan.calculation.limits.all_of import MOST_LEVELS, AllOf
from safetyplan.calculation.limits.any_of import AnyOf
from safetyplan.calculation.limits.attribute import Attribute
from safetyplan.calculation.limits.bound import Bound
from safetyplan.calculation.limits.difference import Difference
from safetyplan.calculation.limits.exposure import Exposure
from safetyplan.calculation.limits.held_for import HeldFor
from safetyplan.calculation.limits.in_order import InOrder
from safetyplan.calculation.limits.last_of import LastOf
from safetyplan.calculation.limits.not_after import NotAfter
from safetyplan.calculation.limits.not_before import NotBefore
from safetyplan.calculation.limits.reached_by import ReachedBy
from safetyplan.calculation.limits.rolling_geometric_mean import RollingGeometricMean
from safetyplan.calculation.limits.sampling_plan import SamplingPlan
from safetyplan.calculation.limits.shape import Limit, LimitError
from safetyplan.calculation.sentences import say

Read = Callable[[Mapping[str, Any]], Limit]
ReadNested = Callable[[Mapping[str, Any], Callable[[object], Limit]], Limit]

_PLAIN: Mapping[str, Read] = {
    Bound.kind: Bound.from_document,
    Attribute.kind: Attribute.from_document,
    Difference.kind: Difference.from_document,
    ReachedBy.kind: ReachedBy.from_document,
    HeldFor.kind: HeldFor.from_document,
    NotBefore.kind: NotBefore.from_document,
    NotAfter.kind: NotAfter.from_document,
    Exposure.kind: Exposure.from_document,
    SamplingPlan.kind: SamplingPlan.from_document,
    RollingGeometricMean.kind: RollingGeometricMean.from_document,
    InOrder.kind: InOrder.from_document,
}
_NESTED: Mapping[str, ReadNested] = {
    AllOf.kind: AllOf.from_document,
    AnyOf.kind: AnyOf.from_document,
    LastOf.kind: LastOf.from_document,
}
KINDS = frozenset((*_PLAIN, *_NESTED))


def load(document: object) -> Limit:
    """Make the limit a document describes. Raises LimitError, with words for whoever wrote the plan.

    A limit stays in the unit of its source; nothing is converted or rounded here.
    """
    return _load(document, 1)


def _load(document: object, level: int) -> Limit:
    if not isinstance(document, Mapping):
        raise LimitError(say("limit_not_a_document"))
    kind = document.get("kind")
    if isinstance(kind, str) and kind in _NESTED and level <= MOST_LEVELS:
        return _NESTED[kind](document, lambda member: _load(member, level + 1))
    if isinstance(kind, str) and kind in _PLAIN:
        return _PLAIN[kind](document)
    raise LimitError(say("limit_unknown_kind", kind=str(kind)[:40]))
