"""The balance of salt of a tank after a batch: what it should come to, and what a measurement says."""

from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation.brine import LAST_DIGITS, percent_text
from safetyplan.calculation.brine_tables import DENSITY_SOURCE
from safetyplan.calculation.brine_tank import (
    Tank,
    Uptake,
    after_batch,
    kg_text,
    salt_to_raise,
    uptake_measured,
)
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.brine_parts import (
    BALANCE_SOURCE,
    BASIS,
    BRINE_MASS,
    BRINE_VOLUME,
    CAUTION_SOURCES,
    CAUTIONS,
    MASSES,
    TEMPERATURE,
    VALIDITY,
    Strength,
    figure,
    read_brine,
    read_strength,
    strength_ask,
    temperature_c,
)
from safetyplan.calculation.worked.shape import Answers, Ask, Number, Task, Worked

MEASURED = "strength_measured_after"


@dataclass(frozen=True)
class _Batch:
    """The inputs of a balance, read."""

    before: Tank
    cheese: Number
    cheese_kg: Decimal
    moisture: Decimal
    gained: Decimal | None
    measured: Strength | None
    target: Strength
    steps: tuple[Sentence, ...]


def _read(answers: Answers) -> _Batch:
    celsius = temperature_c(answers)
    before = read_strength(answers, "strength_before", celsius)
    brine = read_brine(answers, before.percent_ww, celsius)
    cheese, moisture = answers.number("cheese_mass"), answers.number("moisture_lost").value
    gained = answers.optional("salt_gained")
    measured = read_strength(answers, MEASURED, celsius) if answers.optional(MEASURED) else None
    wanted = answers.optional("target_strength")
    target = read_strength(answers, "target_strength", celsius) if wanted else before
    if gained is None and measured is None:
        raise Refusal(say("brine_batch_needs"), "salt_gained")
    tank = Tank.of(brine_kg=brine.kg, percent_ww=before.percent_ww)
    held = say(
        "brine_step_held",
        mass=kg_text(brine.kg),
        percent=figure(before.percent_ww),
        salt=kg_text(tank.salt_kg),
        water=kg_text(tank.water_kg),
    )
    extra = (*((measured.step,) if measured else ()), *((target.step,) if wanted else ()))
    steps = (before.step, *extra, *brine.steps, held)
    amount_gained = gained.value if gained else None
    cheese_kg = cheese.in_unit("kg")
    return _Batch(tank, cheese, cheese_kg, moisture, amount_gained, measured, target, steps)


def work_after_batch(answers: Answers) -> Worked:
    """Expected strength after a batch, the salt to restore it, and the difference to a measurement."""
    batch = _read(answers)
    steps = [*batch.steps]
    found: list[Sentence] = []
    expected, uptake = _expected(batch, found, steps), _uptake(batch, found, steps)
    if expected is not None and uptake is not None:
        found.append(_difference(expected, uptake, steps))
    now = uptake.after if uptake is not None else expected
    if now is None:
        raise Refusal(say("brine_batch_needs"), "salt_gained")
    found.append(_restore(batch, now, steps))
    return Worked(
        result=found[0],
        more=tuple(found[1:]),
        steps=tuple(steps),
        validity=(*VALIDITY, say("brine_validity_batch")),
        cautions=(say("brine_caution_measure"), *CAUTIONS),
        sources=(BALANCE_SOURCE, DENSITY_SOURCE, *CAUTION_SOURCES),
    )


def _expected(batch: _Batch, found: list[Sentence], steps: list[Sentence]) -> Tank | None:
    if batch.gained is None:
        return None
    after = after_batch(
        batch.before,
        cheese_kg=batch.cheese_kg,
        salt_gained_percent=batch.gained,
        moisture_lost_percent=batch.moisture,
    )
    percent = percent_text(after.percent_ww)
    found.append(say("brine_expected", before=percent_text(batch.before.percent_ww), after=percent))
    steps += [
        _water_step(batch, after),
        say(
            "brine_step_salt_after",
            before=kg_text(batch.before.salt_kg),
            cheese=kg_text(batch.cheese_kg),
            gained=trim(batch.gained),
            after=kg_text(after.salt_kg),
        ),
        say(
            "brine_step_expected",
            salt=kg_text(after.salt_kg),
            mass=kg_text(after.brine_kg),
            result=percent,
        ),
    ]
    return after


def _water_step(batch: _Batch, after: Tank) -> Sentence:
    return say(
        "brine_step_water_after",
        before=kg_text(batch.before.water_kg),
        cheese=kg_text(batch.cheese_kg),
        lost=trim(batch.moisture),
        after=kg_text(after.water_kg),
    )


def _uptake(batch: _Batch, found: list[Sentence], steps: list[Sentence]) -> Uptake | None:
    if batch.measured is None:
        return None
    percent = batch.measured.percent_ww
    uptake = uptake_measured(
        batch.before,
        cheese_kg=batch.cheese_kg,
        moisture_lost_percent=batch.moisture,
        measured_percent=percent,
    )
    share = amount(decimal_text(uptake.percent_of_cheese, 2), "percent")
    found.append(
        say(
            "brine_uptake",
            measured=percent_text(percent),
            salt=kg_text(uptake.salt_kg),
            share=share,
        )
    )
    if batch.gained is None:
        steps.append(_water_step(batch, uptake.after))
    steps += [
        say(
            "brine_step_salt_measured",
            water=kg_text(uptake.after.water_kg),
            percent=figure(percent),
            rest=figure(100 - percent),
            salt=kg_text(uptake.after.salt_kg),
        ),
        say(
            "brine_step_uptake",
            before=kg_text(batch.before.salt_kg),
            after=kg_text(uptake.after.salt_kg),
            salt=kg_text(uptake.salt_kg),
            cheese=kg_text(batch.cheese_kg),
            share=share,
        ),
    ]
    return uptake


def _difference(expected: Tank, uptake: Uptake, steps: list[Sentence]) -> Sentence:
    missing = expected.salt_kg - uptake.after.salt_kg
    measured, awaited = kg_text(uptake.after.salt_kg), kg_text(expected.salt_kg)
    steps.append(
        say("brine_step_difference", expected=awaited, measured=measured, difference=kg_text(missing))
    )
    strengths = {
        "expected": percent_text(expected.percent_ww),
        "measured": percent_text(uptake.after.percent_ww),
    }
    if missing < 0:
        return say(
            "brine_more_salt",
            salt=kg_text(-missing),
            expected=strengths["expected"],
            measured=strengths["measured"],
        )
    return say(
        "brine_less_salt",
        salt=kg_text(missing),
        expected=strengths["expected"],
        measured=strengths["measured"],
    )


def _restore(batch: _Batch, now: Tank, steps: list[Sentence]) -> Sentence:
    target = batch.target.percent_ww
    present = target if abs(now.percent_ww - target) < LAST_DIGITS else now.percent_ww
    salt = salt_to_raise(
        brine_kg=now.brine_kg, from_percent=present, to_percent=target, field="target_strength"
    )
    steps.append(
        say(
            "brine_step_raise",
            mass=kg_text(now.brine_kg),
            present=figure(present),
            wanted=figure(target),
            rest=figure(100 - target),
            salt=kg_text(salt),
        )
    )
    return say("brine_raise", salt=kg_text(salt), present=percent_text(present), wanted=percent_text(target))


AFTER_BATCH = Task(
    "after_batch",
    (
        BRINE_VOLUME,
        BRINE_MASS,
        TEMPERATURE,
        BASIS,
        strength_ask("strength_before"),
        Ask("cheese_mass", quantity="mass", units=MASSES),
        Ask("moisture_lost", quantity="percent", units=("percent",), help=say("brine_help_share")),
        Ask(
            "salt_gained",
            quantity="percent",
            units=("percent",),
            required=False,
            help=say("brine_help_share"),
        ),
        strength_ask(MEASURED, required=False),
        strength_ask("target_strength", required=False),
    ),
    work_after_batch,
)
