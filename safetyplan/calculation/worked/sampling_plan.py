"""Sampling plans worked step by step: the verdict on results, what a plan can find, which lots pass it."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal

from safetyplan.calculation.refusal import Refusal
from safetyplan.calculation.rounding import amount, decimal_text, significant_text, trim
from safetyplan.calculation.sampling import (
    Count,
    Outcome,
    Place,
    Plan,
    Verdict,
    judge_results,
    verdict_sentence,
)
from safetyplan.calculation.sampling_chances import (
    SHARES_SHOWN,
    Shares,
    acceptance_lognormal,
    acceptance_two_class,
    chance_text,
    chances_sentence,
    detectable_concentration,
    detectable_proportion,
    lot_shares,
    samples_needed,
)
from safetyplan.calculation.sampling_tables import CRITERIA, TOXIN_TEST_ABOVE, Criterion
from safetyplan.calculation.sentences import Sentence, say
from safetyplan.calculation.worked.sampling_working import (
    NOTHING,
    UNIT,
    chance_steps,
    log10_of,
    lot_chart,
    plan_step,
    share_chart,
    sorted_steps,
    terms_text,
)
from safetyplan.calculation.worked.shape import Answers, Ask, Calculator, Chart, Number, Task, Worked

OWN = "own_plan"
_SMALLEST_SHARE = Decimal("0.000001")
COUNTS = tuple(name for name, criterion in CRITERIA.items() if not criterion.plan.is_presence)
PRESENCES = tuple(name for name, criterion in CRITERIA.items() if criterion.plan.is_presence)
_BINOMIAL = "Binomial and multinomial distribution; sampling by attributes as in Codex CXG 50-2004"
_VERDICTS = "Regulation (EC) No 2073/2005, annex I, interpretation of the results (wording from memory)"
_LOT = "Lognormal lot with standard deviation 0.8: convention of ICMSF, book 7, from memory"
_POISSON = "Poisson distribution of organisms spread at random"


def _judge_counts(answers: Answers) -> Worked:
    criterion, plan = _chosen(answers, _own_counts)
    counts = [_count(number) for number in answers.numbers("sample_results")]
    outcome = judge_results(plan, counts, field="sample_results")
    steps = (plan_step(plan), *sorted_steps(plan, counts, outcome), *chance_steps(plan))
    more = [chances_sentence(plan), *_marginal_chances(plan), *_toxin(criterion, counts)]
    chart = lot_chart(plan) if plan.upper is not None and plan.m else share_chart(plan)
    return _worked(plan, outcome, steps, more, criterion, chart)


def _count(number: Number) -> Count:
    try:
        return Count(number.in_unit(UNIT), number.censored)
    except Refusal as refusal:
        raise Refusal(refusal.sentence, "sample_results") from refusal


def _judge_presence(answers: Answers) -> Worked:
    criterion, plan = _chosen(answers, _own_presence)
    tested, found = (_whole(answers.number(name), name) for name in ("samples_tested", "samples_detected"))
    if found > tested:
        raise Refusal(say("sampling_more_detected"), "samples_detected")
    if tested > plan.n:
        raise Refusal(say("sampling_too_many", given=str(tested), n=str(plan.n)), "samples_tested")
    outcome = judge_results(plan, [n < found for n in range(tested)])
    counted = say("sampling_step_detected", found=str(found), given=str(tested), c=str(plan.c))
    steps = (plan_step(plan), counted, *chance_steps(plan))
    return _worked(plan, outcome, steps, [chances_sentence(plan)], criterion, share_chart(plan))


def _chosen(answers: Answers, own: Callable[[Answers], Plan]) -> tuple[Criterion | None, Plan]:
    """The criterion chosen with its plan, or the plan of one's own; both at once contradict each other."""
    name = answers.choice("sampling_criterion")
    typed = next((ask for ask in ("plan_n", "plan_c", "plan_m", "plan_upper") if answers.optional(ask)), "")
    if name == OWN:
        return None, own(answers)
    if typed:
        raise Refusal(say("sampling_two_plans"), typed)
    return CRITERIA[name], CRITERIA[name].plan


def _own_counts(answers: Answers) -> Plan:
    upper = answers.optional("plan_upper")
    return Plan(
        _whole(answers.number("plan_n"), "plan_n"),
        _whole(answers.number("plan_c"), "plan_c"),
        _uncensored(answers.number("plan_m"), "plan_m"),
        None if upper is None else _uncensored(upper, "plan_upper"),
    )


def _own_presence(answers: Answers) -> Plan:
    n, c = (_whole(answers.number(name), name) for name in ("plan_n", "plan_c"))
    return Plan(n, c)


def _whole(number: Number, field: str) -> int:
    if number.censored or number.value != number.value.to_integral_value():
        raise Refusal(say("sampling_whole", value=number.text), field)
    return int(number.value)


def _uncensored(number: Number, field: str) -> Decimal:
    if number.censored:
        raise Refusal(say("sampling_plain_number", value=number.text), field)
    return number.value


def _worked(
    plan: Plan,
    outcome: Outcome,
    steps: Sequence[Sentence],
    more: Sequence[Sentence],
    criterion: Criterion | None,
    chart: Chart,
) -> Worked:
    source = (criterion.source,) if criterion else ()
    lot = (say("sampling_valid_lognormal"),) if chart.x == "lot_mean_log10" else ()
    return Worked(
        result=verdict_sentence(plan, outcome, UNIT),
        more=tuple(more),
        steps=tuple(steps),
        validity=(_random(plan), *lot),
        cautions=_cautions(plan, outcome, criterion),
        sources=(*source, _VERDICTS, _BINOMIAL, *((_LOT,) if lot else ())),
        chart=chart,
    )


def _random(plan: Plan) -> Sentence:
    return say("sampling_valid_random", n=str(plan.n))


def _cautions(plan: Plan, outcome: Outcome, criterion: Criterion | None) -> tuple[Sentence, ...]:
    found = [_says_little(plan)]
    if criterion is not None and criterion.provenance == "memory":
        found.append(say("sampling_from_memory"))
    if criterion is not None and criterion.aim == "process_hygiene":
        found.append(say("sampling_hygiene"))
    else:
        found.append(say("sampling_hold"))
    if outcome.verdict is Verdict.UNDECIDED:
        found.append(say("sampling_undecided_holds"))
    return (*found, say("sampling_who_decides"))


def _says_little(plan: Plan) -> Sentence:
    accepted = plan.c if plan.upper is None else 0
    chance = acceptance_two_class(n=plan.n, c=accepted, proportion=Decimal("0.10"))
    return say("sampling_says_little", n=str(plan.n), c=str(plan.c), chance=chance_text(chance))


def _marginal_chances(plan: Plan) -> tuple[Sentence, ...]:
    if plan.upper is None:
        return ()
    chances = (acceptance_two_class(n=plan.n, c=plan.c, proportion=share) for share in SHARES_SHOWN)
    at5, at10, at20 = (chance_text(chance) for chance in chances)
    return (say("sampling_chances_marginal", at5=at5, at10=at10, at20=at20),)


def _toxin(criterion: Criterion | None, counts: Sequence[Count]) -> tuple[Sentence, ...]:
    """Staphylococci above the trigger: the batch is tested for enterotoxin."""
    if criterion is None or criterion.organism != "coagulase_positive_staphylococci":
        return ()
    found = any(count.span(TOXIN_TEST_ABOVE, None)[1] is Place.ABOVE_M for count in counts)
    return (say("sampling_toxin_test", limit=amount(trim(TOXIN_TEST_ABOVE), UNIT)),) if found else ()


def _plan_detects(answers: Answers) -> Worked:
    n, c = (_whole(answers.number(name), name) for name in ("plan_n", "plan_c"))
    plan = Plan(n, c)
    confidence = _uncensored(answers.number("plan_confidence"), "plan_confidence").scaleb(-2)
    share = detectable_proportion(n=n, c=c, confidence=confidence)
    sure = chance_text(confidence)
    step = say("sampling_step_solved", n=str(n), c=str(c), share=significant_text(share, 4))
    if c == 0:
        left = trim(1 - confidence)
        step = say("sampling_step_root", n=str(n), left=left, share=significant_text(share, 4))
    more, more_steps = _concentration(answers, n, confidence)
    needed = samples_needed(proportion=Decimal("0.05"), confidence=confidence)
    more.append(say("sampling_needed", n=str(needed), confidence=sure))
    return Worked(
        result=say("sampling_detects", n=str(n), c=str(c), confidence=sure, share=_percent(share)),
        more=tuple(more),
        steps=(say("sampling_step_formula_two"), step, *chance_steps(plan)[1:], *more_steps),
        validity=(_random(plan),),
        cautions=(_says_little(plan), say("sampling_below_share"), say("sampling_who_decides")),
        sources=(_BINOMIAL, *((_POISSON,) if more_steps else ())),
        chart=share_chart(plan),
    )


def _percent(share: Decimal) -> str:
    if 0 < share < _SMALLEST_SHARE:
        return "<" + amount(trim(_SMALLEST_SHARE.scaleb(2)), "percent")
    return amount(significant_text(share.scaleb(2), 3), "percent")


def _concentration(
    answers: Answers, n: int, confidence: Decimal
) -> tuple[list[Sentence], tuple[Sentence, ...]]:
    """With the grams of a sample, the smallest even contamination that is found."""
    sample = answers.optional("sample_grams")
    if sample is None:
        return [], ()
    grams = _uncensored(sample, "sample_grams")
    found = detectable_concentration(n=n, grams=grams, confidence=confidence)
    text, all_grams = significant_text(found, 3), amount(trim(grams * n), "g")
    sure = chance_text(confidence)
    step = say("sampling_step_poisson", left=trim(1 - confidence), grams=all_grams, found=text)
    return [say("sampling_finds", found=amount(text, UNIT), grams=all_grams, confidence=sure)], (step,)


def _lot_passes(answers: Answers) -> Worked:
    plan = _own_counts(answers)
    assert plan.m is not None
    mean, m = (log10_of(_uncensored(answers.number(name), name), name) for name in ("lot_mean", "plan_m"))
    upper = None if plan.upper is None else log10_of(plan.upper, "plan_upper")
    sd = _uncensored(answers.number("lot_sd"), "lot_sd")
    shares = lot_shares(mean_log10=mean, sd_log10=sd, log10_m=m, log10_upper=upper)
    chance = acceptance_lognormal(
        n=plan.n, c=plan.c, mean_log10=mean, sd_log10=sd, log10_m=m, log10_upper=upper
    )
    between, above = _percent(shares.marginal), _percent(shares.defective)
    percent, typed = chance_text(chance), answers.number("lot_mean").text
    means, ms = decimal_text(mean, 4), decimal_text(m, 4)
    uppers = NOTHING if upper is None else decimal_text(upper, 4)
    return Worked(
        result=say("sampling_lot_passes", mean=typed, between=between, above=above, percent=percent),
        steps=(
            plan_step(plan),
            say("sampling_step_logs", mean=means, m=ms, upper=uppers, sd=trim(sd)),
            say("sampling_step_shares", between=between, above=above),
            say("sampling_step_formula_three"),
            _lot_step(plan, shares, chance),
        ),
        validity=(_random(plan), say("sampling_valid_lot")),
        cautions=(say("sampling_lot_supposed"), say("sampling_who_decides")),
        sources=(_BINOMIAL, _LOT),
        chart=lot_chart(plan, sd),
    )


def _lot_step(plan: Plan, shares: Shares, chance: Decimal) -> Sentence:
    """The terms with the shares to six decimals, for following by hand."""
    good = 1 - shares.marginal - shares.defective
    q, rest = (Decimal(decimal_text(max(Decimal(0), part), 6)) for part in (shares.marginal, good))
    terms, result = terms_text(plan.n, plan.c, q, rest), decimal_text(chance, 4)
    return say("sampling_step_lot", terms=terms, result=result, percent=chance_text(chance))


_N = Ask("plan_n", quantity="count", units=("count",))
_C = Ask("plan_c", quantity="count", units=("count",))
_M = Ask("plan_m", quantity="colony_count", units=(UNIT,))
_UPPER = Ask("plan_upper", quantity="colony_count", units=(UNIT,), required=False)
_OWN_N, _OWN_C, _OWN_M = (replace(ask, required=False, help=say("sampling_help_own")) for ask in (_N, _C, _M))

CALCULATOR = Calculator(
    name="sampling_plan",
    tasks=(
        Task(
            "judge_counts",
            (
                Ask("sampling_criterion", "choice", options=(*COUNTS, OWN)),
                Ask(
                    "sample_results",
                    "numbers",
                    quantity="colony_count",
                    units=(UNIT,),
                    required=False,
                    help=say("sampling_help_results"),
                ),
                _OWN_N,
                _OWN_C,
                _OWN_M,
                replace(_UPPER, help=say("sampling_help_own_upper")),
            ),
            _judge_counts,
        ),
        Task(
            "judge_presence",
            (
                Ask("sampling_criterion", "choice", options=(*PRESENCES, OWN)),
                Ask("samples_tested", quantity="count", units=("count",)),
                Ask("samples_detected", quantity="count", units=("count",)),
                _OWN_N,
                _OWN_C,
            ),
            _judge_presence,
        ),
        Task(
            "plan_detects",
            (
                _N,
                replace(_C, default="0"),
                Ask("plan_confidence", quantity="percent", units=("percent",), default="95"),
                Ask("sample_grams", quantity="mass", units=("g",), required=False),
            ),
            _plan_detects,
        ),
        Task(
            "lot_passes",
            (
                _N,
                _C,
                _M,
                replace(_UPPER, help=say("sampling_help_upper")),
                Ask("lot_mean", quantity="colony_count", units=(UNIT,)),
                Ask("lot_sd", quantity="ratio", units=("ratio",), default="0.8"),
            ),
            _lot_passes,
        ),
    ),
)
