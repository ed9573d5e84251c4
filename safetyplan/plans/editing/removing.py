"""Taking a product, a step or an event out of the draft: asked first, refused while something names it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.http import HttpResponse

from safetyplan.integrity.refusals import Refused
from safetyplan.plans.document import Control, Hazard, Plan, read
from safetyplan.plans.editing.frame import Data, PartForm, Work, begin, save, show
from safetyplan.plans.editing.places import address
from safetyplan.plans.editing.products_data import item_words, still_named

PART = "plan_products"


@dataclass(frozen=True)
class Removal:
    """What is taken out. question: asked on the page. naming: what names it. to: where one goes on."""

    name: str
    question: str
    naming: Callable[[Plan], Sequence[Control | Hazard]]
    take_out: Callable[[Data], None]
    to: tuple[str, ...]
    done: str


def remove(work: Work, removal: Removal) -> HttpResponse:
    """Ask before something is removed, or remove it."""
    posted = work.request.method == "POST"
    form = PartForm(work.request.POST) if posted else begin(work, PartForm)

    def change(data: Data) -> None:
        if naming := removal.naming(read(data)):
            raise Refused(still_named(removal.name, naming))
        removal.take_out(data)

    answer = save(work, form, change, to=removal.to, done=removal.done) if posted else None
    return answer or show(
        work,
        "plans/editing/remove.html",
        PART,
        removal=removal,
        naming=[item_words(item) for item in removal.naming(work.plan)],
        back=address(work.establishment.slug, *removal.to),
        form=form,
        status=409 if posted else 200,
    )
