"""The pages of the calculators: every task asks, answers, refuses in words, and keeps what was typed."""

from html import unescape

import pytest
from django.http import HttpResponse
from django.urls import reverse

from safetyplan.calculation.worked.catalogue import CALCULATORS
from safetyplan.calculators.reading import fields_of
from safetyplan.establishments.models import Person
from safetyplan.words import NAMES, name_words, sentence_case
from tests.cast import Cast
from tests.records.calculators.examples import EXAMPLES
from tests.web import entries, signed_in, text_of

TASKS = [(calculator, task) for calculator in CALCULATORS.values() for task in calculator.tasks]
IDS = [f"{calculator.slug} {task.name}" for calculator, task in TASKS]
TAKEN = {"deviation", "note", "uuid", "password", "csrfmiddlewaretoken"}


def address(cast: Cast, slug: str, task: str) -> str:
    """Give the address of a task."""
    return reverse("calculator", args=[cast.dairy.slug, slug, task.replace("_", "-")])


def send(cast: Cast, person: Person, slug: str, task: str, **typed: str) -> HttpResponse:
    """Calculate as a person."""
    answer: HttpResponse = signed_in(person).post(address(cast, slug, task), typed)
    return answer


@pytest.mark.parametrize("which", TASKS, ids=IDS)
def test_every_name_on_the_page_has_words_and_no_input_takes_a_name_of_the_form(which: tuple) -> None:
    calculator, task = which
    named = [calculator.name, *([task.name] if len(calculator.tasks) > 1 else [])]
    for ask in task.asks:
        named += [ask.name, *ask.options, *ask.columns]
    assert [name for name in named if name not in NAMES] == []
    assert set(fields_of(task)) & TAKEN == set()


@pytest.mark.parametrize("which", TASKS, ids=IDS)
def test_the_page_asks_for_every_input(which: tuple, working: Cast) -> None:
    calculator, task = which
    client = signed_in(working.inspector)
    page = unescape(text_of(client.get(address(working, calculator.slug, task.name))))
    assert [a.name for a in task.asks if sentence_case(name_words(a.name)) not in page] == []


@pytest.mark.parametrize("which", TASKS, ids=IDS)
def test_an_example_is_answered_with_its_working_and_writes_nothing(which: tuple, working: Cast) -> None:
    calculator, task = which
    before = entries(working.dairy)

    answer = send(working, working.maker, calculator.slug, task.name, **EXAMPLES[calculator.slug, task.name])

    page = text_of(answer)
    assert answer.status_code == 200, page
    assert all(word in page for word in ("Result", "Working, step by step", "Where this holds", "Source"))
    assert entries(working.dairy) == before


@pytest.mark.parametrize("which", TASKS, ids=IDS)
def test_an_empty_form_is_refused_in_words(which: tuple, working: Cast) -> None:
    calculator, task = which
    answer = send(working, working.maker, calculator.slug, task.name)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.content.decode() or "errorlist" in answer.content.decode()


@pytest.mark.parametrize("which", TASKS, ids=IDS)
def test_what_cannot_be_read_is_refused_and_stays_in_its_field(which: tuple, working: Cast) -> None:
    calculator, task = which
    example = EXAMPLES[calculator.slug, task.name]
    for ask in task.asks:
        if ask.entry == "choice":
            continue
        answer = send(
            working, working.maker, calculator.slug, task.name, **{**example, ask.name: "1e5 wrong"}
        )
        assert answer.status_code == 422, ask.name
        assert "1e5 wrong" in answer.content.decode()


def test_an_unknown_calculator_and_an_unknown_task_are_not_found(working: Cast) -> None:
    client = signed_in(working.maker)
    assert client.get(address(working, "brine", "make")).status_code == 200
    assert client.get(address(working, "brine", "nonsense")).status_code == 404
    assert client.get(address(working, "nonsense", "make")).status_code == 404


def test_the_list_leads_to_every_task(working: Cast) -> None:
    page = signed_in(working.inspector).get(reverse("calculators", args=[working.dairy.slug]))
    html = page.content.decode()
    assert [c.slug for c, task in TASKS if address(working, c.slug, task.name) not in html] == []
