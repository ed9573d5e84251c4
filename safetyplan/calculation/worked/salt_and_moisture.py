"""Salt and moisture: what an analysis of a cheese says, and its water activity by several estimates."""

from decimal import Decimal

from safetyplan.calculation import composition, water_activity
from safetyplan.calculation.composition_tables import FAT, FIRMNESS
from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, significant_text, trim
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Number, Task, Worked

_CODEX = "Codex CXS 283"
_UNIVERSITY = "University of Guelph, cheese-making text: salt in moisture, fat in dry matter"


def _percent(value: Decimal) -> str:
    return amount(decimal_text(value, 2), "percent")


def _aw(value: Decimal) -> str:
    return amount(decimal_text(value, 4), "aw")


def _analysis(answers: Answers) -> tuple[Number, Number | None, Number | None]:
    moisture, fat, salt = (
        answers.number("moisture"),
        answers.optional("fat"),
        answers.optional("salt_content"),
    )
    composition.require_composition(
        moisture_percent=moisture.value,
        fat_percent=fat.value if fat else Decimal(0),
        salt_percent=salt.value if salt else Decimal(0),
    )
    return moisture, fat, salt


def work_composition(answers: Answers) -> Worked:
    """Ratios and classes from moisture, and fat and salt where they are given."""
    moisture, fat, salt = _analysis(answers)
    if fat is None and salt is None:
        raise Refusal(say("composition_needs_more"), "fat")
    found: list[Sentence] = []
    steps: list[Sentence] = []
    if salt is not None:
        found += _salt(moisture, salt, steps)
    if fat is not None:
        found += _fat(moisture, fat, steps)
    schemes = [*FIRMNESS.values(), *FAT.values()] if fat is not None else []
    return Worked(
        result=found[0],
        more=tuple(found[1:]),
        steps=tuple(steps),
        validity=(say("composition_validity"),),
        cautions=(say("composition_caution"),),
        sources=(_UNIVERSITY, _CODEX, *(scheme.source for scheme in schemes)),
    )


def _salt(moisture: Number, salt: Number, steps: list[Sentence]) -> list[Sentence]:
    given = {"salt_percent": salt.value, "moisture_percent": moisture.value}
    in_moisture, in_phase = composition.salt_in_moisture(**given), composition.water_phase_salt(**given)
    words = (trim(salt.value), trim(moisture.value))
    steps.append(say("composition_step_sm", salt=words[0], moisture=words[1], result=_percent(in_moisture)))
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


def work_water_activity(answers: Answers) -> Worked:
    """Water activity by every estimate whose inputs are given; the highest is the one to reason from."""
    moisture, _fat_given, salt = _analysis(answers)
    estimates: list[tuple[Decimal, Sentence, Sentence, str]] = []
    left_out: list[Sentence] = []
    if salt is not None:
        _by_salt(answers, moisture, salt, estimates, left_out)
    _by_ash(answers, estimates)
    if not estimates:
        raise left_out_refusal(left_out)
    highest = max(estimates, key=lambda row: row[0])
    return Worked(
        result=say("water_activity_highest", value=_aw(highest[0]), source=highest[3]),
        more=tuple(row[1] for row in estimates),
        steps=tuple(row[2] for row in estimates),
        validity=(say("water_activity_validity"), *left_out),
        cautions=(say("water_activity_caution"), say("water_activity_highest_caution")),
        sources=tuple(row[3] for row in estimates),
    )


def left_out_refusal(left_out: list[Sentence]) -> Refusal:
    """The refusal when no estimate could be made: why the last one was left out, or what is needed."""
    return Refusal(left_out[-1] if left_out else say("water_activity_needs"), "salt_content")


Estimates = list[tuple[Decimal, Sentence, Sentence, str]]


def _by_salt(
    answers: Answers, moisture: Number, salt: Number, estimates: Estimates, left_out: list[Sentence]
) -> None:
    in_moisture = composition.salt_in_moisture(salt_percent=salt.value, moisture_percent=moisture.value)
    grams, ph = significant_text(in_moisture, 4), answers.optional("ph")
    try:
        molality = water_activity.molality_from_salt_in_moisture(in_moisture)
        value = water_activity.of_solution(molality=molality)
        words = amount(decimal_text(molality, 3), "mol_per_kg")
        estimates.append(
            (
                value,
                say("water_activity_solution", value=_aw(value)),
                say("water_activity_step_solution", grams=grams, molality=words, result=_aw(value)),
                water_activity.OSMOTIC_SOURCE,
            )
        )
        value = water_activity.by_marcos(
            salt_in_moisture_percent=in_moisture, moisture_percent=moisture.value
        )
        estimates.append(
            (
                value,
                say("water_activity_marcos", value=_aw(value)),
                say("water_activity_step_marcos", molality=words, result=_aw(value)),
                water_activity.MARCOS_SOURCE,
            )
        )
    except Refusal as refusal:
        left_out.append(refusal.sentence)
    if ph is not None:
        value = water_activity.of_unripe_cheese(salt_in_moisture_percent=in_moisture, ph=ph.value)
        estimates.append(
            (
                value,
                say("water_activity_unripe", value=_aw(value)),
                say("water_activity_step_unripe", grams=grams, ph=trim(ph.value), result=_aw(value)),
                water_activity.UNRIPE_SOURCE,
            )
        )


def _by_ash(answers: Answers, estimates: Estimates) -> None:
    ash, npn = answers.optional("ash_in_moisture"), answers.optional("npn_in_moisture")
    if ash is None:
        if npn is not None:
            raise Refusal(say("calculator_needs", part="ash_in_moisture"), "ash_in_moisture")
        return
    if npn is not None:
        value = water_activity.of_mould_ripened_cheese(ash_in_moisture=ash.value, npn_in_moisture=npn.value)
        estimates.append(
            (
                value,
                say("water_activity_mould", value=_aw(value)),
                say("water_activity_step_mould", ash=trim(ash.value), npn=trim(npn.value), result=_aw(value)),
                water_activity.MOULD_SOURCE,
            )
        )
        return
    value = water_activity.of_processed_cheese(ash_in_moisture=ash.value)
    estimates.append(
        (
            value,
            say("water_activity_processed", value=_aw(value)),
            say("water_activity_step_processed", ash=trim(ash.value), result=_aw(value)),
            water_activity.PROCESSED_SOURCE,
        )
    )


def _percent_ask(name: str, *, required: bool = False) -> Ask:
    return Ask(name, quantity="percent", units=("percent",), required=required)


CALCULATOR = Calculator(
    "salt_and_moisture",
    (
        Task(
            "composition",
            (_percent_ask("moisture", required=True), _percent_ask("fat"), _percent_ask("salt_content")),
            work_composition,
        ),
        Task(
            "water_activity_estimate",
            (
                _percent_ask("moisture", required=True),
                _percent_ask("salt_content"),
                Ask("ph", quantity="ph", units=("pH",), required=False, help=say("water_activity_ph_help")),
                Ask(
                    "ash_in_moisture",
                    quantity="percent",
                    units=("percent",),
                    required=False,
                    help=say("water_activity_ash_help"),
                ),
                Ask(
                    "npn_in_moisture",
                    quantity="percent",
                    units=("percent",),
                    required=False,
                    help=say("water_activity_npn_help"),
                ),
            ),
            work_water_activity,
        ),
    ),
)
