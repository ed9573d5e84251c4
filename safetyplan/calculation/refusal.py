"""Refusals of a calculation: what it cannot know, in a sentence with the range and the source."""

from decimal import Decimal

from safetyplan.calculation.rounding import amount, trim
from safetyplan.calculation.sentences import Sentence, say

# A number with more digits than this is written with an exponent, which `trim` does not do.
_LONGEST = 27


class Refusal(ValueError):
    """A calculation that cannot answer: the sentence says why, `field` names the input at fault, if any."""

    def __init__(self, sentence: Sentence, field: str = "") -> None:
        super().__init__(": ".join((sentence.code, *(f"{name} {text}" for name, text in sentence.params))))
        self.sentence = sentence
        self.field = field


def require_within(
    value: Decimal, low: Decimal, high: Decimal, *, quantity: str, unit: str, source: str, field: str = ""
) -> None:
    """Refuse a value outside the closed range low..high (all in `unit`) in which a formula is valid.

    Not a number is outside every range. The refusal carries the range and the source.
    """
    if not value.is_finite() or not low <= value <= high:
        given = amount(trim(value), unit) if value.is_finite() and value.adjusted() < _LONGEST else str(value)
        sentence = say(
            "outside_validity",
            quantity=quantity,
            value=given,
            low=amount(trim(low), unit),
            high=amount(trim(high), unit),
            source=source,
        )
        raise Refusal(sentence, field)
