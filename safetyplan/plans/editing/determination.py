"""The screen of a determination: a hazard walked through a decision tree, question after question.

Each answer that is sent is kept in the draft, so that nothing is lost half-way; answers to questions that the
way no longer meets are dropped. A result that says something else than the plan does is shown, and is kept
only with a reason.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from safetyplan.integrity.refusals import BadInput
from safetyplan.integrity.typed_values import clean
from safetyplan.plans.decision_tree import ANSWERS, RESULTS, TREES, Tree, Walk, walk
from safetyplan.plans.editing.frame import Data, PartForm, Work, item_of, save, show, work_on
from safetyplan.plans.editing.hazards import METHODS, PART, hazard_of, refused
from safetyplan.plans.editing.hazards_form import YES_NO
from safetyplan.plans.editing.hazards_page import card
from safetyplan.plans.editing.hazards_rules import LETTERS, letters
from safetyplan.plans.hazard_words import choice_words
from safetyplan.plans.parts import Determination, Hazard, Plan
from safetyplan.plans.rules.determinations import contradicts

MOST = 1000
FIRST_TREE = "codex_2022"


class DeterminationForm(PartForm):
    """The questions of a tree that the answers so far lead to, the last of them still open."""

    use_required_attribute = False

    tree = forms.CharField(widget=forms.HiddenInput, max_length=20)
    reason = forms.CharField(
        label=gettext_lazy("Why the plan differs from the result"),
        required=False,
        max_length=MOST,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=gettext_lazy("Needed where the result says something else than the plan does."),
    )

    def __init__(self, way: Walk, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number, question in enumerate(way.asked, start=1):
            self.fields[question.code] = forms.ChoiceField(
                label=f"{number}. {question.text}",
                choices=YES_NO,
                widget=forms.RadioSelect,
            )
        self.order_fields([*(question.code for question in way.asked), "reason"])


@dataclass(frozen=True)
class Sitting:
    """One hazard before one tree, with the answers given and the way they lead."""

    plan: Plan
    hazard: Hazard
    tree: Tree
    answers: Mapping[str, str]

    @property
    def way(self) -> Walk:
        """The way through the tree."""
        return walk(self.tree, self.answers)

    @property
    def contradiction(self) -> bool:
        """Tell whether the result says something else than the plan does."""
        walked = replace(self.hazard, determination=Determination(self.tree.code, self.kept()))
        return contradicts(self.plan, walked)

    def kept(self) -> dict[str, str]:
        """Give the answers of this way alone."""
        met = {question.code for question in self.way.asked}
        return {code: answer for code, answer in self.answers.items() if code in met}


def stored(plan: Plan, hazard: Hazard, wanted: str) -> Sitting:
    """Take the answers that are kept with the hazard, unless another tree is asked for."""
    kept = hazard.determination
    tree = TREES.get(wanted) or TREES[kept.tree if kept else FIRST_TREE]
    answers = kept.answers if kept and kept.tree == tree.code else {}
    return Sitting(plan, hazard, tree, answers)


def sent(plan: Plan, hazard: Hazard, given: Mapping[str, Any]) -> Sitting:
    """Take the tree and the answers that were sent; answers to questions of another way count for nothing."""
    tree = TREES.get(str(given.get("tree", "")), TREES[FIRST_TREE])
    codes = [question.code for question in tree.questions]
    answers = {code: str(given[code]) for code in codes if given.get(code) in ANSWERS}
    return Sitting(plan, hazard, tree, answers)


@login_required
@require_http_methods(METHODS)
def plan_determination(request: HttpRequest, slug: str, code: str) -> HttpResponse:
    """Show how far a hazard was walked through a tree; take an answer, the next one, or another one."""
    work = work_on(request, slug)
    hazard = hazard_of(work, code)
    if request.method != "POST":
        sitting = stored(work.plan, hazard, request.GET.get("tree", ""))
        return _page(work, sitting, DeterminationForm(sitting.way, initial=_initial(work, sitting)))
    sitting = sent(work.plan, hazard, request.POST)
    form = DeterminationForm(sitting.way, request.POST)

    def change(data: Data) -> None:
        item_of(data["hazards"], code)["determination"] = _document(sitting, form)

    done = _("The answer is kept.") if sitting.way.open else _("The determination is in the draft.")
    return save(work, form, change, to=("plan_determination", code), done=done) or _page(work, sitting, form)


def _initial(work: Work, sitting: Sitting) -> dict[str, str]:
    kept = sitting.hazard.determination
    reason = kept.reason if kept else ""
    head = {"revision": str(work.draft.revision), "tree": sitting.tree.code, "reason": reason}
    return {**head, **sitting.answers}


def _document(sitting: Sitting, form: DeterminationForm) -> Data:
    """Give the determination as the document holds it; refuse a step that answers nothing."""
    typed, kept = form.cleaned_data, sitting.hazard.determination
    if typed["tree"] not in TREES:
        raise BadInput(_("Choose one of the two trees."))
    before = kept.answers if kept and kept.tree == sitting.tree.code else {}
    open_question = sitting.way.open
    if open_question is not None and sitting.kept() in ({}, dict(before)):
        raise BadInput(_("Answer this question: Yes or No."), part=open_question.code)
    why = clean(typed["reason"], most=MOST, part="reason")
    if sitting.contradiction and letters(why) < LETTERS:
        message = _("The result says something else than the plan does. Say why, or change one of the two.")
        raise BadInput(message, part="reason")
    found: Data = {"tree": sitting.tree.code, "answers": sitting.kept()}
    return {**found, "reason": why} if why else found


def _page(work: Work, sitting: Sitting, form: DeterminationForm) -> HttpResponse:
    way, kept = sitting.way, sitting.hazard.determination
    form.fields["reason"].required = sitting.contradiction
    return show(
        work,
        "plans/editing/determination.html",
        PART,
        status=refused(work),
        form=form,
        card=card(work.plan, sitting.hazard, work.findings(sitting.hazard.code)),
        trees=TREES.values(),
        tree=sitting.tree,
        other=TREES[kept.tree] if kept and kept.tree != sitting.tree.code else None,
        way=way,
        answered=[(q.text, sitting.answers.get(q.code, "")) for q in way.asked],
        result=RESULTS[way.result] if way.result else "",
        choice=choice_words(work.plan, sitting.hazard),
        contradiction=sitting.contradiction,
        asks_reason=sitting.contradiction or bool(form["reason"].value()),
    )
