"""What a calculation has to say: a code with named parameters, turned into words elsewhere."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Sentence:
    """One thing said: a code and its parameters, sorted by name, all of them text.

    Amounts arrive ready to print ("4.2 °C"), instants as RFC 3339 UTC in a parameter whose name ends in
    `_at`, names of parts, events, options and quantities as their codes.
    """

    code: str
    params: tuple[tuple[str, str], ...] = ()

    def to_document(self) -> dict[str, Any]:
        """The sentence as a JSON-able dict: {"code": ..., "params": {name: text}}."""
        return {"code": self.code, "params": dict(self.params)}

    @classmethod
    def from_document(cls, document: Mapping[str, Any]) -> "Sentence":
        """Read back what `to_document` wrote. Raises ValueError when it is not of that shape."""
        code, params = document.get("code"), document.get("params")
        if (
            not isinstance(code, str)
            or not isinstance(params, Mapping)
            or set(document) != {"code", "params"}
        ):
            raise ValueError("a sentence has exactly a code and params")
        if not all(isinstance(name, str) and isinstance(text, str) for name, text in params.items()):
            raise ValueError("the parameters of a sentence are text")
        return say(code, **params)


def say(code: str, /, **params: str) -> Sentence:
    """Make a sentence; the order in which parameters are given makes no difference."""
    return Sentence(code, tuple(sorted(params.items())))
