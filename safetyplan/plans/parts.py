"""The parts of a food-safety plan as frozen values; `document.py` reads them. Pure, no database."""

from collections.abc import Mapping
from dataclasses import dataclass

from safetyplan.calculation.limits.shape import Limit
from safetyplan.plans.event_parts import Event

CLASSES = ("ccp", "oprp", "prp")
STARTED = "started"
TREATMENTS = ("raw", "thermised", "pasteurised")
STEP_KINDS = ("start", "operation", "inspection", "storage", "transport", "end")
HAZARD_KINDS = ("biological", "chemical", "physical", "radiological")
HAZARD_GROUPS = ("allergen", "drug_residue", "toxin", "environmental_pathogen")
EFFECTS = ("introduced", "increased", "controlled")
MEASURE_TYPES = (
    "process",
    "allergen",
    "sanitation",
    "supply_chain",
    "prerequisite",
    "prerequisite_attention",
)
WHERE = ("this_step", "later_step", "prerequisite")
VERIFICATION_KINDS = (
    "records_review",
    "calibration",
    "phosphatase",
    "product_test",
    "milk_test",
    "environment",
    "recall_exercise",
    "supplier",
    "label_audit",
    "other",
)
VALIDATION_KINDS = ("regulation", "guide", "study", "trial", "challenge_study")
PROVENANCES = ("read", "memory", "suggestion", "own")
EACH = ("brine", "preparation", "room", "vat")
RECORDINGS = ("each_value", "by_exception")
OVERDUE_INSTRUMENT = ("warn", "block")
PHOTOS = ("asked", "required")
LOT_KINDS = ("after_event", "limit_points")


@dataclass(frozen=True)
class Step:
    """A step of the process. next: the steps that follow; none means the one after it in the list."""

    code: str
    name: str
    inputs: tuple[str, ...]
    kind: str = "operation"
    next: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True)
class Product:
    """A product, its description and how it is made.

    treatment: raw, thermised or pasteurised milk. exposed: it stands open to the room after its treatment
    and is eaten as it is. rich: its milk counts as a richer product for heat treatment. keeps_by: what makes
    it keep (pH, water activity, salt), in words.
    """

    code: str
    name: str
    description: str
    milk: str
    shelf_life_days: int
    storage: str
    label: str
    events: tuple[Event, ...]
    steps: tuple[Step, ...]
    family: str = ""
    use: str = ""
    consumers: str = ""
    ingredients: str = ""
    packaging: str = ""
    distribution: str = ""
    keeps_by: str = ""
    allergens: tuple[str, ...] = ()
    treatment: str = ""
    exposed: bool = False
    rich: bool = False
    shelf_life_evidence: str = ""

    def event(self, code: str) -> Event | None:
        """Find an event by code."""
        return next((event for event in self.events if event.code == code), None)

    def step(self, code: str) -> Step | None:
        """Find a step by code."""
        return next((step for step in self.steps if step.code == code), None)

    def follows(self, step: Step) -> tuple[str, ...]:
        """Give the codes of the steps after a step; an end has none."""
        if step.next or step.kind == "end":
            return step.next
        at = self.steps.index(step)
        return (self.steps[at + 1].code,) if at + 1 < len(self.steps) else ()


@dataclass(frozen=True)
class Determination:
    """How a hazard was walked through a decision tree: its answers, and why the choice differs if it does."""

    tree: str
    answers: Mapping[str, str]
    reason: str = ""


@dataclass(frozen=True)
class Hazard:
    """A hazard at a step: what happens to it there, how grave and how likely, and where it is controlled.

    step: empty for the whole site. agent: its code in the list of hazards. effect: introduced, increased or
    controlled at the step. severity, likelihood: in words, with the reason. where: this_step, later_step
    (`controlled_step` names it) or prerequisite. controlled_by: the code of a control or of a prerequisite.
    """

    code: str
    products: tuple[str, ...]
    step: str
    kind: str
    name: str
    significant: bool
    reason: str
    removed_by_reheating: bool
    controlled_by: str
    group: str = ""
    agent: str = ""
    effect: str = ""
    severity: str = ""
    likelihood: str = ""
    measure: str = ""
    measure_type: str = ""
    where: str = ""
    controlled_step: str = ""
    source: str = ""
    determination: Determination | None = None


@dataclass(frozen=True)
class When:
    """When a check is due.

    kind: after_event and limit_points belong to a lot, load to each load of milk, daily to a day. each: the
    kind of shared thing on each of which a daily check is made; empty for once.
    """

    kind: str
    event: str = ""
    after_minutes: int = 0
    before: int = 0
    after: int = 0
    days: str = "every"
    times: tuple[str, ...] = ()
    each: str = ""


@dataclass(frozen=True)
class Control:
    """A critical control point or a prerequisite control, with its limit and monitoring.

    record: where the check is written down. resolution: the smallest step the instrument shows, as decimal
    in the unit of the limit. justification: why this limit holds the hazard. figure_source and provenance:
    where the figure of the limit comes from and whether that text was read. parameter: the code of the figure
    of the profile that the limit answers to, if any. before_event: the event of a lot that must not happen
    before this check shows control. points: the points at which a daily check is measured, one after the
    other. recording: each_value (also when empty) or by_exception. overdue_instrument: warn (also when empty)
    or block. photo: whether a photo is asked for or required. A check of a load of milk is due on every load;
    its products are those whose lots must wait for it, none for all that have the event.
    """

    code: str
    rank: str
    name: str
    products: tuple[str, ...]
    step: str
    limit: Limit
    what: str
    how: str
    who: str
    instrument: str
    when: When
    corrective_actions: tuple[tuple[str, str], ...]
    measure_next_minutes: int
    verification: str
    record: str = ""
    resolution: str = ""
    justification: str = ""
    figure_source: str = ""
    provenance: str = ""
    parameter: str = ""
    before_event: str = ""
    points: tuple[str, ...] = ()
    recording: str = ""
    overdue_instrument: str = ""
    photo: str = ""

    @property
    def is_ccp(self) -> bool:
        """Tell whether this is a critical control point."""
        return self.rank == "ccp"

    @property
    def of_lot(self) -> bool:
        """Tell whether the check belongs to a lot."""
        return self.when.kind in LOT_KINDS

    @property
    def of_load(self) -> bool:
        """Tell whether the check belongs to a load of milk."""
        return self.when.kind == "load"

    @property
    def of_thing(self) -> bool:
        """Tell whether the check belongs to a day of a shared thing, such as a brine."""
        return self.when.kind == "daily" and bool(self.when.each)

    @property
    def of_day(self) -> bool:
        """Tell whether the check belongs to a day of the establishment."""
        return self.when.kind == "daily" and not self.when.each

    def stands_in(self, product: str) -> bool:
        """Tell whether the check stands in the flow of a product; one of every load of milk always does."""
        return product in self.products or (self.of_load and not self.products)

    @property
    def by_exception(self) -> bool:
        """Tell whether only what is not in order is written down, and the rest is confirmed at once."""
        return self.recording == "by_exception"


@dataclass(frozen=True)
class Prerequisite:
    """A prerequisite programme; attention: one that needs greater attention, monitored and recorded."""

    code: str
    name: str
    text: str
    how_often: str = ""
    who: str = ""
    record: str = ""
    attention: bool = False


@dataclass(frozen=True)
class Verification:
    """One activity of the verification schedule; controls: those it verifies, none for the whole plan."""

    code: str
    kind: str
    name: str
    how: str
    how_often: str
    controls: tuple[str, ...] = ()
    who: str = ""
    record: str = ""


@dataclass(frozen=True)
class Validation:
    """Evidence that controls can do what the plan expects; file: SHA-256 of a stored file, 64 hex digits."""

    code: str
    kind: str
    text: str
    controls: tuple[str, ...]
    reference: str = ""
    file: str = ""
    file_name: str = ""
    valid_until: str = ""


@dataclass(frozen=True)
class Parameter:
    """One figure of the regulatory profile as this plan uses it; reason: why it was changed, if it was."""

    code: str
    value: str
    unit: str
    note: str
    citation: str
    provenance: str
    reason: str = ""


@dataclass(frozen=True)
class Profile:
    """The regulatory profile of the plan, as read on a day and possibly changed since."""

    code: str
    read_on: str
    parameters: tuple[Parameter, ...]

    def parameter(self, code: str) -> Parameter | None:
        """Find a parameter by code."""
        return next((parameter for parameter in self.parameters if parameter.code == code), None)


@dataclass(frozen=True)
class Recall:
    """The recall procedure: who leads it, how people are told, how goods are disposed of."""

    responsible: str = ""
    consignees: str = ""
    public: str = ""
    effectiveness: str = ""
    disposal: str = ""


@dataclass(frozen=True)
class PositiveAction:
    """What is done after a positive result: in a product, on a surface or in the room."""

    product: str = ""
    environment: str = ""


@dataclass(frozen=True)
class Plan:
    """A whole food-safety plan."""

    title: str
    form_number: str
    language: str
    late_after_minutes: int
    release_role: str
    products: tuple[Product, ...]
    hazards: tuple[Hazard, ...]
    controls: tuple[Control, ...]
    schema: int = 1
    profile: Profile | None = None
    recall: Recall = Recall()
    positive_action: PositiveAction = PositiveAction()
    prerequisites: tuple[Prerequisite, ...] = ()
    verifications: tuple[Verification, ...] = ()
    validations: tuple[Validation, ...] = ()

    def product(self, code: str) -> Product:
        """Find a product by code."""
        return next(p for p in self.products if p.code == code)

    def control(self, code: str) -> Control | None:
        """Find a control by code."""
        return next((c for c in self.controls if c.code == code), None)

    def prerequisite(self, code: str) -> Prerequisite | None:
        """Find a prerequisite programme by code."""
        return next((p for p in self.prerequisites if p.code == code), None)

    def hazards_of(self, control: Control) -> tuple[Hazard, ...]:
        """Give the hazards that a control is there for."""
        return tuple(h for h in self.hazards if h.controlled_by == control.code)

    def validations_of(self, control: Control) -> tuple[Validation, ...]:
        """Give the evidence attached to a control."""
        return tuple(v for v in self.validations if control.code in v.controls)
