"""The proof that one ledger begins another: the examples of RFC 6962 section 2.1.3, and brute force."""

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from safetyplan.integrity import seals
from safetyplan.integrity.consistency import consistency_proof, proof_between
from safetyplan.integrity.models import RecordSeal
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.verifier import leaf_hash, node_hash, tree_root
from tests.builders import a_lot, at, hours
from tests.cast import Cast

LEAVES = [leaf_hash(bytes([number])) for number in range(7)]
A, B, C, D, E, F, J = LEAVES
G, H, I = node_hash(A, B), node_hash(C, D), node_hash(E, F)  # noqa: E741
K, L = node_hash(G, H), node_hash(I, J)


def over(leaves: list[bytes], start: int, end: int) -> bytes:
    """Give the hash of a subtree."""
    return tree_root(leaves[start:end])


# RFC 6962 section 2.1.3: the tree of seven leaves a to g with nodes g to l; the letters here as there,
# but that the seventh leaf is called j.
@pytest.mark.parametrize(("first", "proof"), [(3, [C, D, G, L]), (4, [L]), (6, [I, J, K])])
def test_the_examples_of_the_standard(first: int, proof: list[bytes]) -> None:
    assert consistency_proof(first, 7, lambda s, e: over(LEAVES, s, e)) == proof


def holds(first: int, second: int, proof: list[bytes], older: bytes, newer: bytes) -> bool:
    """Check a proof as RFC 9162 section 2.1.4.2 says."""
    if first == second:
        return proof == [] and older == newer
    path = [older, *proof] if first & (first - 1) == 0 else proof
    at_node, last = first - 1, second - 1
    while at_node & 1:
        at_node, last = at_node >> 1, last >> 1
    fr = sr = path[0]
    for value in path[1:]:
        if last == 0:
            return False
        if at_node & 1 or at_node == last:
            fr, sr = node_hash(value, fr), node_hash(value, sr)
            while at_node and not at_node & 1:
                at_node, last = at_node >> 1, last >> 1
        else:
            sr = node_hash(sr, value)
        at_node, last = at_node >> 1, last >> 1
    return last == 0 and fr == older and sr == newer


@given(st.integers(1, 130), st.integers(0, 130), st.booleans())
def test_every_proof_holds_and_none_holds_for_another_past(first: int, more: int, changed: bool) -> None:
    leaves = [hashlib.sha256(str(number).encode()).digest() for number in range(first + more)]
    proof = consistency_proof(first, first + more, lambda s, e: over(leaves, s, e))
    past = [hashlib.sha256(b"another").digest(), *leaves[1:first]] if changed else leaves[:first]

    found = holds(first, first + more, proof, tree_root(past), tree_root(leaves))

    assert found is not changed


def test_the_ledger_proves_that_each_seal_continues_the_one_before(working: Cast) -> None:
    with at(working.dairy, hours(1)):
        first = seals.seal(establishment=working.dairy, reason="daily")
        for number in range(11):
            a_lot(working, f"TF-{number:04}", started=hours(0.8))
            seals.seal(establishment=working.dairy, reason="daily")

    newest = RecordSeal.objects.of(working.dairy).order_by("-size")[0]
    for seal in RecordSeal.objects.of(working.dairy).filter(size__gte=first.size):
        proof = proof_between(working.dairy, seal.size, newest.size)
        roots = bytes.fromhex(seal.root), bytes.fromhex(newest.root)
        assert holds(seal.size, newest.size, proof, *roots)


@pytest.mark.parametrize("sizes", [(0, 1), (2, 1), (1, 10_000)])
def test_sizes_that_the_ledger_has_not_are_refused(working: Cast, sizes: tuple[int, int]) -> None:
    with pytest.raises(BadInput):
        proof_between(working.dairy, *sizes)
