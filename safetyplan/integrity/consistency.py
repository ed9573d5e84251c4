"""Proof that an earlier tree of an establishment's ledger is the beginning of a later one.

RFC 6962 section 2.1.2 (RFC 9162 section 2.1.4): a list of hashes from which both roots can be computed, with
nothing of the records themselves. A device that kept an earlier record seal checks a newer one by it.
"""

from collections.abc import Callable

from django.utils.translation import gettext as _

from safetyplan.establishments.models import Establishment
from safetyplan.integrity.models import Entry, RecordSeal
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.seals import frontier_at
from safetyplan.integrity.verifier import Frontier, tree_root

Subtree = Callable[[int, int], bytes]


def consistency_proof(first: int, second: int, subtree: Subtree) -> list[bytes]:
    """Give PROOF(first, D[second]); `subtree(start, end)` gives the hash over leaves start to end - 1.

    0 < first <= second, else ValueError. For first = second the proof is empty.
    """
    if not 0 < first <= second:
        raise ValueError("a proof leads from a smaller tree to a larger one")
    return _subproof(first, 0, second, subtree, whole=True)


def _subproof(first: int, start: int, end: int, subtree: Subtree, *, whole: bool) -> list[bytes]:
    size = end - start
    if first == size:
        return [] if whole else [subtree(start, end)]
    split = 1 << (size - 1).bit_length() - 1
    if first <= split:
        return [
            *_subproof(first, start, start + split, subtree, whole=whole),
            subtree(start + split, end),
        ]
    return [
        *_subproof(first - split, start + split, end, subtree, whole=False),
        subtree(start, start + split),
    ]


def _complete(frontier: Frontier) -> dict[tuple[int, int], bytes]:
    """Give the complete subtrees at a tree's right edge by the leaves they cover."""
    found, start = {}, 0
    for height, value in frontier.edge:
        found[start, start + (1 << height)] = value
        start += 1 << height
    return found


def _frontier_of(establishment: Establishment, size: int) -> Frontier:
    earlier = RecordSeal.objects.of(establishment).filter(size__lte=size).order_by("-size", "-id").first()
    return frontier_at(establishment, size, earlier)


def proof_between(establishment: Establishment, first: int, second: int) -> list[bytes]:
    """Prove that the first `first` entries begin the first `second`; costs only what lies between."""
    largest = Entry.objects.of(establishment).order_by("-sequence").values_list("sequence", flat=True).first()
    if not 0 < first <= second <= (largest or 0):
        raise BadInput(_("The ledger has no such two sizes."))
    edge = _complete(_frontier_of(establishment, first))
    rows = Entry.objects.of(establishment).filter(sequence__gt=first, sequence__lte=second)
    leaves = [bytes.fromhex(value) for value in rows.order_by("sequence").values_list("hash", flat=True)]

    def subtree(start: int, end: int) -> bytes:
        # Every subtree that a proof names lies wholly after the first tree or is one at its right edge.
        return edge[start, end] if end <= first else tree_root(leaves[start - first : end - first])

    return consistency_proof(first, second, subtree)
