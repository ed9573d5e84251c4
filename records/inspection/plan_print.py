"""An approved version of the plan on paper: everything in the order in which an inspector asks for it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from django.utils.translation import gettext as _

from records.inspection.frame import Frame
from records.inspection.plan_given import flow_walked, given, targets_signed
from records.inspection.plan_lists import (
    change_grid,
    event_grid,
    figure_grid,
    finding_grid,
    named,
    prerequisite_grid,
    product_grid,
    profile_grid,
    step_grid,
    target_grid,
    validation_grid,
    verification_grid,
    version_grid,
)
from records.inspection.plan_tables import control_grid, determination_grid, hazard_grid
from records.inspection.plan_words import or_dash
from safetyplan.establishments.models import Training
from safetyplan.establishments.queries import until
from safetyplan.plans import plan_check, queries
from safetyplan.plans.changes import compare
from safetyplan.plans.confirmations import Given, words_by_control
from safetyplan.plans.flow_diagram import flow_steps
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.parts import Plan, Product
from safetyplan.plans.plan_check import Finding
from safetyplan.printing.document import (
    Block,
    Chart,
    Contents,
    Document,
    Entry,
    Facts,
    Head,
    Heading,
    KeepTogether,
    PageBreak,
    Sideways,
    SignatureBox,
    Text,
)
from safetyplan.printing.flow_scene import flow_scenes, legend
from safetyplan.printing.frame import make_frame
from safetyplan.reference.profiles import profiles

ABOVE_A_DIAGRAM = 60.0
"""Points of a page that the heading and the words under a diagram need."""


def document(frame: Frame, version: PlanApproved) -> Document:
    """Compose the whole plan."""
    plan = version.plan()
    head = frame.head(plan.title, version)
    return Document(head, frame.foot(), tuple(_Print(frame, version, plan, head).blocks()), frame.paper,
                    frame.language)  # fmt: skip


@dataclass
class _Print:
    """The sections of one print."""

    frame: Frame
    version: PlanApproved
    plan: Plan
    head: Head

    @cached_property
    def given(self) -> list[Given]:
        return given(self.frame)

    def blocks(self) -> list[Block]:
        """Give the sections with the contents after the first; each heading is numbered."""
        upright = [self.changes(), *map(self.product, self.plan.products)]
        upright += [self.flow(product) for product in self.plan.products]
        turned = [
            self.hazards(),
            self.determinations(),
            *(self.controls(rank) for rank in ("ccp", "oprp", "prp")),
            self.targets(),
            self.figures(),
            self.profile(),
            self.prerequisites(),
            self.verification(),
            self.validation(),
        ]
        closing = [self.recall(), self.positive()]
        sections = [*upright, *turned, *closing]
        headings = _numbered(sections)
        entries = tuple(Entry(heading.anchor, heading.text) for heading in headings)
        each = [[heading, *blocks[1:]] for heading, blocks in zip(headings, sections, strict=True)]
        first, second = len(upright), len(upright) + len(turned)
        return [
            *self.cover(),
            Heading(_("Contents"), 1),
            Contents(entries),
            PageBreak(),
            *_flat(each[:first]),
            Sideways(tuple(_flat(each[first:second]))),
            *_flat(each[second:]),
            KeepTogether((Heading(_("Who is who"), 2), self.frame.key(), self.frame.caution())),
        ]

    def cover(self) -> list[Block]:
        version, frame = self.version, self.frame
        prepared = frame.name(version.prepared_by_id)
        return [
            Facts(
                (
                    (_("Plan version"), str(version.number)),
                    (_("Form number"), self.plan.form_number),
                    (_("In force from"), frame.time(version.in_force_from)),
                    (_("Approved"), frame.moment(version.recorded_at)),
                    (_("Prepared or overseen by (qualified individual)"), prepared),
                    (_("Approved by"), version.signed_name),
                    (_("Training"), self._training()),
                    (_("Regulatory profile"), or_dash(self._profile_name())),
                    (_("Products"), ", ".join(f"{p.code} {p.name}" for p in self.plan.products)),
                    (_("Reason for this version"), version.reason),
                )
            ),
            frame.signature(version),
            *self._warnings(),
        ]

    def _training(self) -> str:
        rows = until(Training.objects.of(self.frame.establishment), self.frame.as_of)
        found = rows.filter(person=self.version.prepared_by_id).order_by("-trained_on", "entry__sequence")
        said = [f"{row.trained_on.isoformat()} {row.training_type}, {row.provider}" for row in found]
        return "\n".join(said) or _("none recorded here")

    def _profile_name(self) -> str:
        if self.plan.profile is None:
            return ""
        known = profiles().get(self.plan.profile.code)
        return known.name if known else self.plan.profile.code

    def _warnings(self) -> list[Block]:
        if not self.version.warnings_reason:
            return [Text(_("No warning of the plan check was accepted with this approval."), "small")]
        words = _("Reason for accepting them: %(reason)s") % {"reason": self.version.warnings_reason}
        heading = Heading(_("Warnings of the plan check accepted with this approval"), 2)
        return [heading, finding_grid(self._accepted()), Text(words)]

    def _accepted(self) -> list[Finding]:
        """The warnings as they stood at the approval: its own day, nothing confirmed later."""
        sequence = self.version.entry.sequence
        around = queries.around_of(self.frame.establishment, sequence)
        around = replace(around, today=self.frame.day(self.version.recorded_at))
        return [f for f in plan_check.check(self.plan, around) if f.level == "warning"]

    def changes(self) -> list[Block]:
        seen = queries.versions(self.frame.establishment, self.frame.as_of)
        versions = list(seen.filter(number__lte=self.version.number))
        blocks: list[Block] = [Heading(_("Change log")), version_grid(self.frame, versions)]
        if self.version.supersedes is not None:
            words = _("Changed from version %(number)d") % {"number": self.version.supersedes.number}
            changed = compare(self.version.supersedes.plan(), self.plan)
            blocks += [Heading(words, 2), change_grid(changed)]
        return blocks

    def product(self, product: Product) -> list[Block]:
        title = _("Product description: %(product)s") % {"product": f"{product.code} {product.name}"}
        return [Heading(title), product_grid(product)]

    def flow(self, product: Product) -> list[Block]:
        title = _("Flow diagram: %(product)s") % {"product": f"{product.code} {product.name}"}
        steps = flow_steps(self.plan, product)
        page = make_frame(self.head, self.frame.foot(), self.frame.paper)
        scenes = flow_scenes(steps, width=page.body_width, height=page.body_height - ABOVE_A_DIAGRAM)
        charts = [Chart(scene, legend(steps) if scene is scenes[-1] else "") for scene in scenes]
        walked, made = self._walked(product), Heading(_("What is recorded while a lot is made"), 2)
        steps_and_events: list[Block] = [step_grid(self.plan, product), made, event_grid(product)]
        return [Heading(title), *charts, *walked, *steps_and_events]

    def _walked(self, product: Product) -> list[Block]:
        found = flow_walked(self.frame, product)
        if found is None:
            meaning = _("Confirms on site that the product is made as its flow diagram says")
            return [Text(_("NOT CONFIRMED ON SITE."), "strong"), SignatureBox(meaning)]
        words = _("Confirmed on site: %(note)s") % {"note": found.note}
        return [KeepTogether((Text(words), self.frame.signature(found)))]

    def _approved(self) -> Text:
        words = _("Part of plan version %(number)d, approved by %(name)s on %(day)s.") % {
            "number": self.version.number,
            "name": self.version.signed_name,
            "day": self.frame.day(self.version.recorded_at).isoformat(),
        }
        return Text(words, "small", keep=True)

    def hazards(self) -> list[Block]:
        return [Heading(_("Hazard analysis")), self._approved(), hazard_grid(self.plan)]

    def determinations(self) -> list[Block]:
        title = Heading(_("Determination of critical control points"))
        return [title, self._approved(), determination_grid(self.plan)]

    def controls(self, rank: str) -> list[Block]:
        title = {
            "ccp": _("Control table: critical control points"),
            "oprp": _("Control table: operational prerequisites"),
            "prp": _("Control table: monitored prerequisites"),
        }[rank]
        today = self.frame.day(self.frame.issue.recorded_at)
        confirmed = words_by_control(self.plan, self.given, today)
        return [Heading(title), self._approved(), control_grid(self.plan, rank, confirmed)]

    def targets(self) -> list[Block]:
        signed = targets_signed(self.frame, self.plan)
        box: Block = Text(_("NOT SIGNED."), "strong")
        if signed is not None:
            box = self.frame.signature(signed)
        return [Heading(_("Operating targets")), target_grid(self.plan), box]

    def figures(self) -> list[Block]:
        grid = figure_grid(self.frame, self.plan, self.given)
        return [Heading(_("Figures confirmed one by one")), grid]

    def profile(self) -> list[Block]:
        profile = self.plan.profile
        title = Heading(_("Regulatory profile"))
        if profile is None:
            return [title, Text(_("The plan follows no regulatory profile."))]
        words = _("%(name)s, as read on %(day)s. A beginning, never the law.") % {
            "name": self._profile_name(),
            "day": or_dash(profile.read_on),
        }
        return [title, Text(words, keep=True), profile_grid(profile.parameters)]

    def prerequisites(self) -> list[Block]:
        return [Heading(_("Prerequisite programmes")), prerequisite_grid(self.plan)]

    def verification(self) -> list[Block]:
        return [Heading(_("Verification schedule")), verification_grid(self.plan)]

    def validation(self) -> list[Block]:
        kept = queries.around_of(self.frame.establishment, self.frame.as_of).files
        return [Heading(_("Validation")), validation_grid(self.frame, self.plan, kept)]

    def recall(self) -> list[Block]:
        recall = self.plan.recall
        pairs = (
            (_("Who leads the recall"), recall.responsible),
            (_("How customers are told"), recall.consignees),
            (_("How the public is told"), recall.public),
            (_("How it is checked that it worked"), recall.effectiveness),
            (_("What happens to the goods"), recall.disposal),
        )
        return [Heading(_("Recall procedure")), named(pairs)]

    def positive(self) -> list[Block]:
        action = self.plan.positive_action
        pairs = ((_("In a product"), action.product), (_("On a surface or in the room"), action.environment))
        return [Heading(_("Actions after a positive result")), named(pairs)]


def _numbered(sections: Sequence[list[Block]]) -> list[Heading]:
    """Number the headings with which the sections begin, and give each an anchor."""
    found = []
    for number, blocks in enumerate(sections, start=1):
        heading = blocks[0]
        assert isinstance(heading, Heading)
        found.append(Heading(f"{number}  {heading.text}", 1, f"section-{number}"))
    return found


def _flat(sections: Sequence[Sequence[Block]]) -> list[Block]:
    return [block for section in sections for block in section]
