"""What the pages of the calculators show."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from records.deviations.queries import open_deviations
from safetyplan.calculation.worked.catalogue import CALCULATORS
from safetyplan.calculation.worked.shape import Calculator, Task, Worked
from safetyplan.calculators.reading import fields_of
from safetyplan.calculators.showing import in_words, picture, title
from safetyplan.establishments.models import Establishment
from safetyplan.words import name_words, sentence_case


def listed() -> list[dict[str, Any]]:
    """List every calculator with its tasks."""
    return [
        {
            "name": sentence_case(name_words(found.name)),
            "slug": found.slug,
            "tasks": [_link(task) for task in found.tasks],
        }
        for found in CALCULATORS.values()
    ]


def _link(task: Task) -> dict[str, str]:
    return {"slug": address(task), "name": sentence_case(name_words(task.name))}


def address(task: Task) -> str:
    """Give a task as it stands in an address."""
    return task.name.replace("_", "-")


def open_choices(establishment: Establishment) -> list[tuple[str, str]]:
    """Offer the open deviations, newest first."""
    return [
        (str(d.pk), _("%(number)d: %(what)s") % {"number": d.number, "what": _told(d)})
        for d in open_deviations(establishment)[:200]
    ]


def _told(deviation: Any) -> str:
    lot = f"{deviation.lot.code}, " if deviation.lot else ""
    return f"{lot}{deviation.control_name or deviation.description}"[:100]


def calculator_page(
    calculator: Calculator,
    task: Task,
    deviation: str,
    *,
    worked: Worked | None = None,
    typed: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """Give the page of one task, with its result once there is one."""
    page: dict[str, Any] = {
        "title": title(calculator, task),
        "calculator_name": sentence_case(name_words(calculator.name)),
        "calculator": calculator.slug,
        "task": address(task),
        "tasks": [{**_link(one), "here": one is task} for one in calculator.tasks],
        "chosen": deviation,
    }
    if worked is not None:
        given = typed or {}
        page |= {
            "words": in_words(worked),
            "picture": picture(worked, page["title"]),
            "kept": [(name, given.get(name, "")) for name in fields_of(task)],
        }
    return page
