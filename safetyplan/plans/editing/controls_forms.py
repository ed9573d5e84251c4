"""Forms of a control: what it is, how it is monitored, when, what is done when its limit is missed."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from safetyplan.calculation.unit_tables import UNITS
from safetyplan.plans.described import EACH_WORDS, duration_words, rank_words
from safetyplan.plans.editing.frame import PartForm
from safetyplan.plans.figures import provenance_words
from safetyplan.plans.parts import CLASSES, PROVENANCES, STARTED, Control, Plan
from safetyplan.words import name_words, sentence_case

Choices = list[tuple[Any, Any]]
LONG = 500
DURATION_HELP = gettext_lazy("Such as 90 min or 24 h.")


def _long(label: Any, help_text: Any = "", *, rows: int = 2, required: bool = True, most: int = LONG) -> Any:
    return forms.CharField(
        label=label,
        help_text=help_text,
        required=required,
        max_length=most,
        widget=forms.Textarea(attrs={"rows": rows}),
    )


def _short(label: Any, help_text: Any = "", *, required: bool = True, most: int = 200) -> Any:
    return forms.CharField(label=label, help_text=help_text, required=required, max_length=most)


class ControlForm(PartForm):
    """A control without its limit, which has a screen of its own."""

    use_required_attribute = False  # what is needed depends on when the check is due
    rank = forms.ChoiceField(label=gettext_lazy("Class"), choices=(), widget=forms.RadioSelect)
    name = _short(gettext_lazy("Name"), most=120)
    products = forms.MultipleChoiceField(
        label=gettext_lazy("Products"),
        choices=(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy(
            "None for a check of the whole site, such as a cold store, and for a check of every load of milk."
        ),
    )
    step = forms.ChoiceField(label=gettext_lazy("Step"), choices=(), required=False)
    what = _short(gettext_lazy("What is measured"))
    how = _short(gettext_lazy("How"), most=LONG)
    who = _short(gettext_lazy("Who"))
    instrument = _short(gettext_lazy("Instrument"), required=False)
    resolution = _short(gettext_lazy("Smallest step the instrument shows"), required=False, most=60)
    when_kind = forms.ChoiceField(label=gettext_lazy("When"), choices=(), widget=forms.RadioSelect)
    event = forms.ChoiceField(label=gettext_lazy("Event of the lot"), choices=())
    after = _short(
        gettext_lazy("So long after the event or the receipt"),
        gettext_lazy("Such as 90 min or 24 h; empty for at the event or the receipt itself."),
        required=False,
        most=60,
    )
    days = forms.ChoiceField(label=gettext_lazy("Which days"), choices=())
    times = _short(gettext_lazy("Times of day"), gettext_lazy("Such as 07:00, 17:00."), most=LONG)
    each = forms.ChoiceField(
        label=gettext_lazy("How often at each time"),
        choices=(),
        required=False,
        help_text=gettext_lazy(
            "On each brine and the like: one check for every one that is in use that day."
        ),
    )
    points = _long(
        gettext_lazy("Points that are measured"),
        gettext_lazy(
            "One on each line, in the order you walk, such as the twelve places of a cold store. "
            "Empty for one reading."
        ),
        rows=4,
        required=False,
        most=4000,
    )
    before = _short(gettext_lazy("May be measured so much earlier"), DURATION_HELP, most=60)
    late = _short(gettext_lazy("May be measured so much later"), DURATION_HELP, most=60)
    actions = _long(
        gettext_lazy("Corrective actions"),
        gettext_lazy("One on each line, in the order they are done."),
        rows=5,
        most=5000,
    )
    measure_next = _short(
        gettext_lazy("Measure next after"),
        gettext_lazy("Such as 30 min; empty where nothing is measured again."),
        required=False,
        most=60,
    )
    verification = _long(gettext_lazy("Verification"), required=False)
    record = _short(gettext_lazy("Record"), gettext_lazy("Where the check is written down."), required=False)
    justification = _long(
        gettext_lazy("Why this control and its limit hold the hazard"), rows=3, required=False, most=2000
    )
    figure_source = _long(gettext_lazy("Where the figure of the limit comes from"), required=False)
    provenance = forms.ChoiceField(label=gettext_lazy("How you know the figure"), choices=(), required=False)
    recording = forms.ChoiceField(
        label=gettext_lazy("What is written down"),
        choices=(),
        required=False,
        help_text=gettext_lazy(
            "By exception, one confirmation covers all that is in order. Never for a critical control point."
        ),
    )
    photo = forms.ChoiceField(
        label=gettext_lazy("Photo"),
        choices=(),
        required=False,
        help_text=gettext_lazy("Required: the check is not saved without one."),
    )
    overdue_instrument = forms.ChoiceField(
        label=gettext_lazy("When the instrument was not checked in time"), choices=(), required=False
    )
    before_event = forms.ChoiceField(
        label=gettext_lazy("Must come before"),
        choices=(),
        required=False,
        help_text=gettext_lazy(
            "Until this check shows control, the event must not be done on the lot; done anyway, it is a "
            "deviation. Such as the test of the milk before the starter."
        ),
    )

    WHAT: tuple[str, ...] = ("rank", "name", "products", "step")
    MONITORING = ("what", "how", "who", "instrument", "resolution")
    EVENT = ("event", "after")
    DAILY = ("days", "times", "each")
    WINDOW = ("before", "late")
    RECORDED = ("recording", "photo", "overdue_instrument", "before_event")
    MISSED = ("actions", "measure_next")
    CHECKED = ("verification", "record", "justification", "figure_source", "provenance")

    def __init__(self, *args: Any, plan: Plan, control: Control | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._choose("rank", [(rank, rank_words(rank)) for rank in CLASSES])
        self._choose("products", [(p.code, f"{p.code} {p.name}") for p in plan.products])
        self._choose("step", step_choices(plan, control))
        self._choose("when_kind", list(WHEN_WORDS.items()))
        self._choose("event", [("", _("Choose")), *event_choices(plan, control)])
        self._choose("days", [("every", _("Every day")), ("production", _("Days of production"))])
        self._choose(
            "provenance", [("", _("Choose")), *((one, provenance_words(one)) for one in PROVENANCES)]
        )
        self._choose_recording(plan, control)
        self.fields["resolution"].help_text = _("In %(unit)s; empty without an instrument.") % {
            "unit": unit_words(control)
        }

    def _choose_recording(self, plan: Plan, control: Control | None) -> None:
        once = {"": _("Once"), **EACH_WORDS}
        self._choose("each", [(kind, sentence_case(str(words))) for kind, words in once.items()])
        for name, words in RECORDING_CHOICES.items():
            self._choose(name, list(words.items()))
        self._choose("before_event", [("", _("No event waits for it")), *gate_choices(plan, control)])

    def _choose(self, name: str, choices: Choices) -> None:
        field: Any = self.fields[name]
        field.choices = choices

    def groups(self) -> dict[str, list[forms.BoundField]]:
        """Give the fields by the headings of the screen."""
        names = ("WHAT", "MONITORING", "EVENT", "DAILY", "WINDOW", "RECORDED", "MISSED", "CHECKED")
        return {name.lower(): [self[field] for field in getattr(self, name)] for name in names}


class NewControlForm(ControlForm):
    """A new control: it also gets its code, which stays."""

    code = _short(
        gettext_lazy("Code"),
        gettext_lazy(
            "Letters, digits and - only. It stays once made. Left empty, it is made from the class."
        ),
        required=False,
        most=20,
    )
    WHAT = ("rank", "code", "name", "products", "step")


class RemoveForm(PartForm):
    """Nothing to fill in: only the revision it was shown."""


WHEN_WORDS: dict[str, Any] = {
    "after_event": gettext_lazy("After something that happens to the lot"),
    "limit_points": gettext_lazy("At the times the limit names"),
    "load": gettext_lazy("At the receipt of each load of milk"),
    "daily": gettext_lazy("At times of the day"),
}

RECORDING_CHOICES: dict[str, dict[str, Any]] = {
    "recording": {
        "": gettext_lazy("Each value"),
        "by_exception": gettext_lazy("By exception: only what is not in order"),
    },
    "photo": {
        "": gettext_lazy("None"),
        "asked": gettext_lazy("Asked for"),
        "required": gettext_lazy("Required"),
    },
    "overdue_instrument": {
        "": gettext_lazy("Warn, and take the reading"),
        "block": gettext_lazy("Refuse the reading"),
    },
}
# what may also be said in so many words, and means the same as nothing said
SAME_AS_EMPTY = {"each_value": "", "warn": ""}


def unit_of(control: Control | None) -> str:
    """Give the unit of the first number of a control's limit; empty when it has none."""
    numbers = (part.unit for part in control.limit.parts() if part.unit) if control else ()
    return next(iter(numbers), "")


def unit_words(control: Control | None) -> str:
    """Name the unit in which the resolution is given."""
    unit = unit_of(control)
    if not unit:
        return _("the unit of the limit")
    return UNITS[unit].symbol or name_words(UNITS[unit].quantity)


def step_choices(plan: Plan, control: Control | None) -> Choices:
    """Give the steps of all products, each once, with the products that have it."""
    names: dict[str, str] = {}
    having: dict[str, list[str]] = {}
    for product in plan.products:
        for step in product.steps:
            names.setdefault(step.code, step.name)
            having.setdefault(step.code, []).append(product.code)
    found: Choices = [("", _("No step: the whole site"))]
    found += [(code, f"{name} ({', '.join(having[code])})") for code, name in names.items()]
    if control is not None and control.step and control.step not in names:
        found.append((control.step, _("%(code)s (not a step of these products)") % {"code": control.step}))
    return found


def event_choices(plan: Plan, control: Control | None) -> Choices:
    """Give the events of all products, each once, and the lot's own start."""
    found = {STARTED: _("Start of the lot")}
    for product in plan.products:
        found |= {event.code: event.name for event in product.events if event.code not in found}
    if control is not None and control.when.event and control.when.event not in found:
        unknown = _("%(event)s (not an event of these products)")
        found[control.when.event] = unknown % {"event": name_words(control.when.event)}
    return list(found.items())


def gate_choices(plan: Plan, control: Control | None) -> Choices:
    """Give the events that may have to wait for a check: those of the products, each once."""
    found = {event.code: event.name for product in reversed(plan.products) for event in product.events}
    if control is not None and control.before_event and control.before_event not in found:
        unknown = _("%(event)s (not an event of these products)")
        found[control.before_event] = unknown % {"event": name_words(control.before_event)}
    return list(found.items())


def texts_of(control: Control) -> dict[str, Any]:
    """Write a control as the initial values of its form."""
    when = control.when
    return {
        "rank": control.rank,
        "name": control.name,
        "products": list(control.products),
        "step": control.step,
        "what": control.what,
        "how": control.how,
        "who": control.who,
        "instrument": control.instrument,
        "resolution": control.resolution,
        "when_kind": when.kind,
        "event": when.event,
        "after": duration_words(when.after_minutes) if when.after_minutes else "",
        "before": duration_words(when.before),
        "late": duration_words(when.after),
        "days": when.days,
        "times": ", ".join(when.times),
        "each": when.each,
        "points": "\n".join(control.points),
        "recording": SAME_AS_EMPTY.get(control.recording, control.recording),
        "photo": control.photo,
        "overdue_instrument": SAME_AS_EMPTY.get(control.overdue_instrument, control.overdue_instrument),
        "before_event": control.before_event,
        "actions": "\n".join(text for _code, text in control.corrective_actions),
        "measure_next": duration_words(control.measure_next_minutes) if control.measure_next_minutes else "",
        "verification": control.verification,
        "record": control.record,
        "justification": control.justification,
        "figure_source": control.figure_source,
        "provenance": control.provenance,
    }


NEW: dict[str, Any] = {"when_kind": "after_event", "event": STARTED, "days": "every"}
