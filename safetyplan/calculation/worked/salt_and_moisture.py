"""Salt and moisture: what an analysis of a cheese says, and its water activity by several estimates."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from safetyplan.calculation import composition, water_activity
from safetyplan.calculation.composition_tables import FAT, FIRMNESS, OSMOTIC_SOURCE
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Number, Task, Worked

MOISTURE, FAT_CONTENT, SALT, PROTEIN = "moisture", "fat", "salt_content", "protein"
PH, ASH, NPN = "ph", "ash_in_moisture", "npn_in_moisture"
EQUATION, EVERY = "equation", "every_equation"


def _percent(value: Decimal) -> str:
    return amount(decimal_text(value, 2), "percent")


def _aw(value: Decimal) -> str:
    return amount(decimal_text(value, 4), "aw")


def _value(answers: Answers, name: str) -> Decimal:
    found = answers.optional(name)
    return found.value if found else Decimal(0)


def work_composition(answers: Answers) -> Worked:
    """Ratios and classes from moisture, and fat and salt where they are given."""
    moisture, fat, salt = answers.number(MOISTURE), answers.optional(FAT_CONTENT), answers.optional(SALT)
    composition.require_composition(
        moisture_percent=moisture.value,
        fat_percent=_value(answers, FAT_CONTENT),
        salt_percent=_value(answers, SALT),
        protein_percent=_value(answers, PROTEIN),
    )
    if fat is None and salt is None:
        raise Refusal(say("composition_needs_more"), FAT_CONTENT)
    found: list[Sentence] = []
    steps: list[Sentence] = []
    sources: list[str] = []
    if salt is not None:
        found += _salt(moisture, salt, steps)
        sources += [composition.SALT_SOURCE, composition.WATER_PHASE_SOURCE]
    if fat is not None:
        found += _fat(moisture, fat, steps)
        sources += [composition.RATIO_SOURCE]
        sources += [scheme.source for scheme in (*FIRMNESS.values(), *FAT.values())]
    return Worked(
        result=found[0],
        more=tuple(found[1:]),
        steps=tuple(steps),
        validity=(say("composition_validity"),),
        cautions=(say("composition_caution"), say("composition_decides")),
        sources=tuple(dict.fromkeys(sources)),
    )


def _salt_in_moisture_step(moisture: Decimal, salt: Decimal, result: Decimal) -> Sentence:
    return say("composition_step_sm", salt=trim(salt), moisture=trim(moisture), result=_percent(result))


def _salt(moisture: Number, salt: Number, steps: list[Sentence]) -> list[Sentence]:
    given = {"salt_percent": salt.value, "moisture_percent": moisture.value}
    in_moisture, in_phase = composition.salt_in_moisture(**given), composition.water_phase_salt(**given)
    words = (trim(salt.value), trim(moisture.value))
    steps.append(_salt_in_moisture_step(moisture.value, salt.value, in_moisture))
    steps.append(say("composition_step_wps", salt=words[0], moisture=words[1], result=_percent(in_phase)))
    return [
        say("composition_sm", result=_percent(in_moisture)),
        say("composition_wps", result=_percent(in_phase)),
    ]


def _fat(moisture: Number, fat: Number, steps: list[Sentence]) -> list[Sentence]:
    given = {"moisture_percent": moisture.value, "fat_percent": fat.value}
    without_fat = composition.moisture_without_fat(**given)
    in_dry = composition.fat_in_dry_matter(**given)
    words = (trim(fat.value), trim(moisture.value))
    steps.append(say("composition_step_mnfs", fat=words[0], moisture=words[1], result=_percent(without_fat)))
    steps.append(say("composition_step_fdm", fat=words[0], moisture=words[1], result=_percent(in_dry)))
    found = [
        say("composition_mnfs", result=_percent(without_fat)),
        say("composition_fdm", result=_percent(in_dry)),
    ]
    for name, scheme in FIRMNESS.items():
        classes = composition.firmness_classes(without_fat, scheme=name)
        found.append(say("composition_firmness", options=" ".join(classes), source=scheme.source))
    for name, scheme in FAT.items():
        found_class = composition.fat_class(in_dry, scheme=name)
        found.append(say("composition_fat_class", option=found_class, source=scheme.source))
    return found


@dataclass(frozen=True)
class Estimate:
    """One estimate of water activity: its value, its sentence with its error, its working, its source."""

    value: Decimal
    sentence: Sentence
    steps: tuple[Sentence, ...]
    source: str


@dataclass(frozen=True)
class Equation:
    """An equation for water activity: the inputs it needs, by name, and the work on them."""

    needs: tuple[str, ...]
    work: Callable[[Mapping[str, Decimal]], Estimate]


def _in_moisture(given: Mapping[str, Decimal]) -> tuple[Decimal, Sentence]:
    value = composition.salt_in_moisture(salt_percent=given[SALT], moisture_percent=given[MOISTURE])
    return value, _salt_in_moisture_step(given[MOISTURE], given[SALT], value)


def _molality(given: Mapping[str, Decimal]) -> tuple[Decimal, str, tuple[Sentence, ...]]:
    in_moisture, step = _in_moisture(given)
    value = water_activity.molality_from_salt_in_moisture(in_moisture)
    words = decimal_text(value, 4)
    grams, result = significant_text(in_moisture, 4), amount(words, "mol_per_kg")
    return value, words, (step, say("water_activity_step_molality", grams=grams, result=result))


def _brine(given: Mapping[str, Decimal]) -> Estimate:
    molality, words, steps = _molality(given)
    value = water_activity.of_solution(molality=molality)
    phi = decimal_text(water_activity.osmotic_coefficient(molality=molality), 4)
    return Estimate(
        value,
        say("water_activity_solution", value=_aw(value)),
        (*steps, say("water_activity_step_solution", molality=words, phi=phi, result=_aw(value))),
        OSMOTIC_SOURCE,
    )


def _marcos(given: Mapping[str, Decimal]) -> Estimate:
    _, words, steps = _molality(given)
    value = water_activity.by_marcos(
        salt_in_moisture_percent=_in_moisture(given)[0], moisture_percent=given[MOISTURE]
    )
    return Estimate(
        value,
        say("water_activity_marcos", value=_aw(value)),
        (*steps, say("water_activity_step_marcos", molality=words, result=_aw(value))),
        water_activity.MARCOS_SOURCE,
    )


def _unripe(given: Mapping[str, Decimal]) -> Estimate:
    in_moisture, step = _in_moisture(given)
    value = water_activity.of_unripe_cheese(salt_in_moisture_percent=in_moisture, ph=given[PH])
    grams, ph = significant_text(in_moisture, 4), trim(given[PH])
    return Estimate(
        value,
        say("water_activity_unripe", value=_aw(value)),
        (step, say("water_activity_step_unripe", grams=grams, ph=ph, result=_aw(value))),
        water_activity.UNRIPE_SOURCE,
    )


def _mould(given: Mapping[str, Decimal]) -> Estimate:
    ash, npn = given[ASH], given[NPN]
    value = water_activity.of_mould_ripened_cheese(ash_in_moisture=ash, npn_in_moisture=npn)
    return Estimate(
        value,
        say("water_activity_mould", value=_aw(value)),
        (say("water_activity_step_mould", ash=trim(ash), npn=trim(npn), result=_aw(value)),),
        water_activity.MOULD_SOURCE,
    )


def _processed(given: Mapping[str, Decimal]) -> Estimate:
    value = water_activity.of_processed_cheese(ash_in_moisture=given[ASH])
    return Estimate(
        value,
        say("water_activity_processed", value=_aw(value)),
        (say("water_activity_step_processed", ash=trim(given[ASH]), result=_aw(value)),),
        water_activity.PROCESSED_SOURCE,
    )


EQUATIONS: Mapping[str, Equation] = {
    "equation_brine": Equation((SALT, MOISTURE), _brine),
    "equation_marcos": Equation((SALT, MOISTURE), _marcos),
    "equation_unripe": Equation((SALT, MOISTURE, PH), _unripe),
    "equation_mould": Equation((ASH, NPN), _mould),
    "equation_processed": Equation((ASH,), _processed),
}
INPUTS = (MOISTURE, SALT, PH, ASH, NPN)


def work_water_activity(answers: Answers) -> Worked:
    """Water activity by the equation chosen, or by each whose inputs are given: reason from the highest."""
    given = {name: answers.number(name).value for name in INPUTS if answers.optional(name)}
    composition.require_composition(
        moisture_percent=_value(answers, MOISTURE), salt_percent=_value(answers, SALT)
    )
    chosen = answers.choice(EQUATION) if EQUATION in answers.given else EVERY
    names = _usable(given) if chosen == EVERY else _one(chosen, given)
    found, left_out = _estimates(names, given)
    highest = max(found, key=lambda name: found[name].value)
    estimates = found.values()
    return Worked(
        result=say("water_activity_highest", value=_aw(found[highest].value), option=highest),
        more=tuple(estimate.sentence for estimate in estimates),
        steps=tuple(dict.fromkeys(step for estimate in estimates for step in estimate.steps)),
        validity=(say("water_activity_validity"), *left_out),
        cautions=(say("water_activity_caution"), say("water_activity_highest_caution")),
        sources=tuple(estimate.source for estimate in estimates),
    )


def _one(chosen: str, given: Mapping[str, Decimal]) -> list[str]:
    for need in EQUATIONS[chosen].needs:
        if need not in given:
            raise Refusal(say("calculator_needs", part=need), need)
    return [chosen]


def _usable(given: Mapping[str, Decimal]) -> list[str]:
    """The equations whose inputs are all there; an input that none of them uses is half of something."""
    usable = [name for name, equation in EQUATIONS.items() if set(equation.needs) <= set(given)]
    used = {need for name in usable for need in EQUATIONS[name].needs}
    for name in given:
        if name not in used and name != MOISTURE:
            equation = next(equation for equation in EQUATIONS.values() if name in equation.needs)
            missing = next(need for need in equation.needs if need not in given)
            raise Refusal(say("calculator_needs", part=missing), missing)
    if not usable:
        raise Refusal(say("water_activity_needs"), SALT)
    return usable


def _estimates(
    names: list[str], given: Mapping[str, Decimal]
) -> tuple[dict[str, Estimate], tuple[Sentence, ...]]:
    """The estimates by equation and, in words, which could not answer and why. Raises if none could."""
    found: dict[str, Estimate] = {}
    refusals: list[Refusal] = []
    left_out: list[Sentence] = []
    for name in names:
        try:
            found[name] = EQUATIONS[name].work(given)
        except Refusal as refusal:
            refusals.append(refusal)
            left_out += [say("water_activity_left_out", option=name), refusal.sentence]
    if not found:
        raise refusals[0]
    return found, tuple(left_out)


def _ask(name: str, *, required: bool = False, help_: Sentence | None = None) -> Ask:
    return Ask(name, quantity="percent", units=("percent",), required=required, help=help_)


CALCULATOR = Calculator(
    "salt_and_moisture",
    (
        Task(
            "composition",
            (
                _ask(MOISTURE, required=True),
                _ask(FAT_CONTENT),
                _ask(SALT),
                _ask(PROTEIN, help_=say("composition_protein_help")),
            ),
            work_composition,
        ),
        Task(
            "water_activity_estimate",
            (
                Ask(EQUATION, "choice", options=(EVERY, *EQUATIONS), required=False),
                _ask(MOISTURE, help_=say("water_activity_moisture_help")),
                _ask(SALT),
                Ask(PH, quantity="ph", units=("pH",), required=False, help=say("water_activity_ph_help")),
                _ask(ASH, help_=say("water_activity_ash_help")),
                _ask(NPN, help_=say("water_activity_npn_help")),
            ),
            work_water_activity,
        ),
    ),
)
