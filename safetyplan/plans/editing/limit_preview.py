"""What a limit would say: worked cases and what a person typed, judged by the limit itself. Saves nothing."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, tzinfo
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from safetyplan.calculation.judgement import Judgement, State
from safetyplan.calculation.limits.all_of import AllOf
from safetyplan.calculation.limits.any_of import AnyOf
from safetyplan.calculation.limits.held_for import HeldFor
from safetyplan.calculation.limits.shape import Limit
from safetyplan.calculation.typed import TypedRefusal, parse
from safetyplan.calculation.unit_tables import QUANTITIES, UNITS
from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean, offer_document
from safetyplan.plans.editing import limit_example_holds, limit_example_logs, limit_examples
from safetyplan.plans.editing.limit_scenes import At, Example, Reading, Try, label
from safetyplan.plans.editing.limit_values import read_span
from safetyplan.words import name_words, render

NOON = 12
MOST_LINES = 60
MOST_CASES = 24
TRY = "try-"


@dataclass(frozen=True)
class Case:
    """One case with what the limit says of it; refused: why it could not be recorded at all."""

    example: Example
    judgement: Judgement
    refused: tuple[str, ...] = ()

    @property
    def sentences(self) -> list[str]:
        """The result in words, then the warnings."""
        return [render(said) for said in (self.judgement.sentence, *self.judgement.warnings)]


def _modules(kind: str, what: str) -> Callable[..., Any]:
    """Find the function of a kind: its examples, its tries, what was tried."""
    for module in (limit_examples, limit_example_holds, limit_example_logs):
        found: Callable[..., Any] | None = getattr(module, f"{kind}_{what}", None)
        if found is not None:
            return found
    raise LookupError(kind)


def moment_of(now: datetime, zone: tzinfo) -> At:
    """Give the moment of the invented check: noon of a day, in the dairy's zone."""
    noon = now.astimezone(zone).replace(hour=NOON, minute=0, second=0, microsecond=0)
    return At(noon.astimezone(UTC), zone)


# limits made of others


def _joined(role: str, found: Sequence[tuple[Limit, Example]]) -> Example:
    """Several cases as one check. Where two count from one event at two times, the later is left out."""
    whole = Example(role, "")
    words = []
    for limit, example in found:
        clash = any(whole.events.get(name, moment) != moment for name, moment in example.events.items())
        if clash:
            parts = " / ".join(label(part.name) for part in limit.parts())
            words.append(_("nothing entered for %(parts)s") % {"parts": parts})
            continue
        words.append(example.words)
        whole = replace(
            whole,
            measured=(*whole.measured, *example.measured),
            events={**whole.events, **example.events},
            series={**whole.series, **example.series},
        )
    return replace(whole, words="; ".join(words))


def _member_name(member: Limit) -> str:
    return _("Hold") if member.kind == HeldFor.kind else label(member.parts()[0].name)


def _beside(limit: AllOf, member: Limit, cases: Sequence[Example], at: At) -> Example:
    """The case a member stands in while another is looked at: kept, or missed where one is enough."""
    if isinstance(limit, AnyOf):
        missed = (one for one in cases if member.judge(one.evidence(at)).state is State.OUTSIDE_LIMIT)
        return next(missed, cases[-1])
    return cases[0]


def _combined(limit: AllOf, at: At) -> list[Example]:
    """Each case of each member, beside one case of every other."""
    members = [(member, examples_of(member, at)) for member in limit.members]
    resting = [(member, _beside(limit, member, cases, at)) for member, cases in members]
    found = []
    for place, (member, examples) in enumerate(members):
        others = resting[:place] + resting[place + 1 :]
        name = _member_name(member)
        found += [_joined(f"{name}: {one.role}", [(member, one), *others]) for one in examples]
    return found[:MOST_CASES]


def examples_of(limit: Limit, at: At) -> list[Example]:
    """Give the worked cases of a limit of any kind."""
    if isinstance(limit, AllOf):
        return _combined(limit, at)
    found: list[Example] = _modules(limit.kind, "examples")(limit, at)
    return found


def tries_of(limit: Limit) -> list[Try]:
    """Give what a person may type to try a limit, each once."""
    if isinstance(limit, AllOf):
        asked = [one for member in limit.members for one in tries_of(member)]
        return list({one.name: one for one in asked}.values())
    found: list[Try] = _modules(limit.kind, "tries")(limit)
    return found


def tried(limit: Limit, given: Mapping[str, Any], at: At) -> Example | None:
    """Make a case of what was typed; None when too little was. Raises BadInput."""
    if isinstance(limit, AllOf):
        cases = [(member, tried(member, given, at)) for member in limit.members]
        found = [(member, example) for member, example in cases if example is not None]
        return _joined(limit_examples.yours(), found) if found else None
    example: Example | None = _modules(limit.kind, "tried")(limit, given, at)
    return example


def judged(limit: Limit, example: Example, at: At) -> Case:
    """Judge one case by the limit itself."""
    evidence = example.evidence(at)
    refused = tuple(render(sentence) for sentence in limit.refusals(evidence))
    return Case(example, limit.judge(evidence), refused)


def cases_of(limit: Limit, at: At) -> list[Case]:
    """Judge every worked case; a limit whose cases are too long to work has none."""
    try:
        examples = examples_of(limit, at)
    except BadInput:
        return []
    seen: dict[tuple[frozenset[object], int], Example] = {}
    for example in examples:
        seen.setdefault((frozenset(example.words.split("; ")), example.ordinal), example)
    return [judged(limit, example, at) for example in seen.values()]


# what was typed to try it


def read_given(tries: Sequence[Try], typed: Mapping[str, str]) -> tuple[dict[str, Any], list[BadInput]]:
    """Read what was typed to try a limit; every refusal at its field."""
    given: dict[str, Any] = {}
    refusals = []
    for asked in tries:
        part = TRY + asked.name
        try:
            raw = clean(typed.get(part, ""), most=2000, part=part)
            if raw:
                given[asked.name] = _read(asked, raw, part)
        except BadInput as refusal:
            refusals.append(refusal)
    return given, refusals


def _read(asked: Try, raw: str, part: str) -> Any:
    if asked.entry == "number":
        return read_reading(raw, asked.unit, part)
    if asked.entry == "span":
        return Decimal(read_span(raw, asked.unit, part, confirmed=True))
    if asked.entry == "choice":
        return _word(raw, asked, part)
    if asked.entry == "text":
        return raw
    lines = [line.strip() for line in raw.splitlines() if line.strip()]
    if len(lines) > MOST_LINES:
        raise BadInput(_("At most %(most)d results, please.") % {"most": MOST_LINES}, part=part)
    if asked.entry == "words":
        return [_word(line, asked, part) for line in lines]
    return [read_reading(line, asked.unit, part) for line in lines]


def _word(raw: str, asked: Try, part: str) -> str:
    """One of the words of the limit, by its code or as it is shown."""
    meant = {name_words(option).casefold(): option for option in asked.options}
    found = raw if raw in asked.options else meant.get(raw.casefold())
    if found is None:
        words = ", ".join(name_words(option) for option in asked.options)
        raise BadInput(_("Only these words: %(words)s.") % {"words": words}, part=part)
    return found


def read_reading(raw: str, unit: str, part: str) -> Reading:
    """Read a reading; only readings are converted, so it may be typed in any unit of the quantity."""
    first: TypedRefusal | None = None
    units = QUANTITIES[UNITS[unit].quantity].units
    for own in (unit, *(other for other in units if other != unit)):
        try:
            typed = parse(raw, quantity=UNITS[unit].quantity, unit=own, confirmed=True)
            return Reading(typed.value, typed.unit, typed.censored)
        except TypedRefusal as refusal:
            first = first or refusal
            if refusal.sentence.code != "typed_other_unit":
                break
    assert first is not None
    offers = [offer_document(offer) for offer in first.offers if offer.unit == unit]
    raise BadInput(str(render(first.sentence)), part=part, offers=offers)
