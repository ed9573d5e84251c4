"""Filling pages: pieces go one below the other; what belongs together moves together; tall texts divide."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from safetyplan.printing.pieces import Piece

Page: TypeAlias = list[tuple[float, Piece]]
"""Pieces with the distance of their upper edge from the top of the body."""

_WORTH_STARTING = 48.0


def paginate(pieces: Iterable[Piece], height: float) -> list[Page]:
    """Distribute the pieces over pages whose body is `height` points high; always at least one page."""
    flow = _Flow(height)
    chain: list[Piece] = []
    for piece in pieces:
        chain.append(piece)
        if not (piece.keep or piece.tied):
            flow.add(chain)
            chain = []
    flow.add(chain)
    return flow.pages if flow.pages[-1] or len(flow.pages) == 1 else flow.pages[:-1]


@dataclass(slots=True)
class _Flow:
    height: float
    pages: list[Page] = field(default_factory=lambda: [[]])
    used: float = 0.0

    def add(self, chain: Sequence[Piece]) -> None:
        """Place a chain on one page if it fits on any, else in smaller chains, divided where needed."""
        if not chain:
            return
        if self.used + self._needed(chain, at_top=self.used == 0) > self.height and self.used:
            head = chain[0].head
            fresh = self.height - (head.height if head else 0.0)
            if self._needed(chain, at_top=True) <= fresh:
                self._turn(chain[0])
        if self.used + self._needed(chain, at_top=self.used == 0) <= self.height:
            for piece in chain:
                self._place(piece)
        elif len(chain) == 1:
            self._divide(chain[0])
        else:
            self._begin_together(chain)
            for part in _untied(chain):
                self.add(part)

    def _begin_together(self, chain: Sequence[Piece]) -> None:
        """Leave no heading at the end of a page when what follows it is too tall for any."""
        if self.used and not any(piece.tied for piece in chain):
            lead = self._needed(chain[:-1], at_top=False) + chain[-1].gap
            if self.used + lead + _WORTH_STARTING > self.height:
                self._turn(None)

    @staticmethod
    def _needed(chain: Sequence[Piece], *, at_top: bool) -> float:
        whole = sum(piece.gap + piece.height for piece in chain)
        return whole - chain[0].gap if at_top else whole

    def _place(self, piece: Piece) -> None:
        if piece.height == 0 and not self.used:
            return
        if self.used:
            self.used += piece.gap
        if piece.height:
            self.pages[-1].append((self.used, piece))
        self.used += piece.height
        if getattr(piece, "ends_page", False):
            self._turn(None)

    def _turn(self, piece: Piece | None) -> None:
        self.pages.append([])
        self.used = 0.0
        if piece is not None and piece.head is not None:
            self._place(piece.head)

    def _divide(self, piece: Piece) -> None:
        """Place a piece taller than a page, part by part; one that cannot be divided is placed as it is."""
        rest: Piece | None = piece
        while rest is not None:
            room = self.height - self.used - rest.gap
            if room < _WORTH_STARTING:
                self._turn(rest)
                room = self.height - self.used
            if rest.height <= room:
                self._place(rest)
                return
            parts = rest.split(room)
            if parts is None:
                self._place(rest)
                return
            self._place(parts[0])
            rest = parts[1]
            self._turn(rest)


def _untied(chain: Sequence[Piece]) -> list[list[Piece]]:
    """Loosen a chain that is too tall: first the ties of the group, then those of headings."""
    if not any(piece.tied for piece in chain):
        return [[replace(piece, keep=False)] for piece in chain]
    parts: list[list[Piece]] = [[]]
    for piece in chain:
        parts[-1].append(replace(piece, tied=False))
        if not piece.keep:
            parts.append([])
    return [part for part in parts if part]
