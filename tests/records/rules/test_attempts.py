"""Every attempt of the table by every role ends in the state the rule names, and the day sheet shows it.

What went before an attempt is told once and kept while each role tries it; every try is undone afterwards.
"""

from collections.abc import Iterable, Iterator

import pytest
from django.db import transaction
from pytest_django.plugin import DjangoDbBlocker

from safetyplan.establishments.models import Person, Role
from safetyplan.integrity.ledger import head
from safetyplan.integrity.models import Entry
from safetyplan.integrity.refusals import Refused
from tests.builders import T0, at, plan_in_force
from tests.cast import Cast, make_cast
from tests.records.rules import rule_1, rule_1_days, rule_2, rule_4, rule_5_6
from tests.records.rules.acts import Act
from tests.records.rules.attempts import FORBIDDEN, Attempt, Refusal
from tests.records.rules.scene import ROLES, Scene, Shown, alone
from tests.records.rules.sharing import undone

pytestmark = pytest.mark.django_db
ATTEMPTS = (*rule_1.ROWS, *rule_1_days.ROWS, *rule_2.ROWS, *rule_4.ROWS, *rule_5_6.ROWS)


@pytest.fixture(scope="module")
def dairy(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Cast]:
    """Open the dairy with a plan in force."""
    with undone(django_db_blocker):
        cast = make_cast()
        with at(cast.dairy, T0.replace(day=13)):
            plan_in_force(cast)
        yield cast


@pytest.fixture(scope="module")
def people(dairy: Cast, django_db_blocker: DjangoDbBlocker) -> Iterator[dict[Role, Person]]:
    """Give the dairy one person for each role."""
    with undone(django_db_blocker):
        yield {role: alone(dairy, role) for role in ROLES}


class Teller:
    """Tells what went before, step by step; steps that two attempts have in common are told once."""

    def __init__(self, cast: Cast) -> None:
        self.cast = cast
        self.told: list[tuple[object, str]] = []

    def tell(self, chosen: Attempt) -> Scene:
        """Go back to where the story of this attempt leaves that of the last one, and tell the rest."""
        scene = Scene(self.cast, self.cast.maker, Role.MAKER, chosen.watch, chosen.day)
        steps = [(chosen.watch, chosen.day, step) for step in chosen.before]
        common = 0
        while common < min(len(steps), len(self.told)) and steps[common] == self.told[common][0]:
            common += 1
        if common < len(self.told):
            transaction.savepoint_rollback(self.told[common][1])
        del self.told[common:]
        for step in steps[common:]:
            self.told.append((step, transaction.savepoint()))
            tell(scene, [step[2]])
        return scene


def tell(scene: Scene, story: Iterable[tuple[float, Act]]) -> None:
    """Let things happen at their hours."""
    for hour, step in story:
        with scene.at(hour):
            step(scene)


@pytest.fixture(scope="module")
def teller(dairy: Cast, people: dict[Role, Person], django_db_blocker: DjangoDbBlocker) -> Iterator[Teller]:
    """Give the teller of all that goes before attempts."""
    with undone(django_db_blocker):
        yield Teller(dairy)


@pytest.fixture(
    scope="module", params=ATTEMPTS, ids=lambda attempt: f"rule {attempt.rule} | {attempt.sentence}"
)
def attempt(
    request: pytest.FixtureRequest, teller: Teller, django_db_blocker: DjangoDbBlocker
) -> tuple[Attempt, Shown]:
    """Give an attempt, with all told that went before, and what the sheet shows at its hour."""
    chosen: Attempt = request.param
    with django_db_blocker.unblock():
        scene = teller.tell(chosen)
        with scene.at(chosen.hour):
            return chosen, scene.shown(scene.sheet())


@pytest.fixture(params=ROLES)
def scene(
    request: pytest.FixtureRequest,
    attempt: tuple[Attempt, Shown],
    dairy: Cast,
    people: dict[Role, Person],
    django_db_blocker: DjangoDbBlocker,
) -> Iterator[Scene]:
    """Let the person of one role act."""
    role, chosen = request.param, attempt[0]
    with undone(django_db_blocker):
        found = Scene(dairy, people[role], role, chosen.watch, chosen.day, acting=True)
        if chosen.own:
            found.give_actor(Role.MAKER)
            tell(found, chosen.own)
            found.give_actor()
        yield found


def written_by_actor(scene: Scene) -> int:
    """Count the actor's entries."""
    author = f'"author":"{scene.actor.pk}"'.encode()
    return sum(author in bytes(body) for body in Entry.objects.of(scene.dairy).values_list("body", flat=True))


def test_an_attempt_ends_in_the_state_the_rule_names_and_the_day_sheet_shows_it(
    attempt: tuple[Attempt, Shown], scene: Scene
) -> None:
    chosen, shown_before = attempt
    outcome = chosen.outcomes[scene.role]
    with scene.at(chosen.hour):
        size, mine = head(scene.dairy)[0], written_by_actor(scene)
        if not isinstance(outcome, Refusal):
            chosen.act(scene)
            sheet = scene.sheet()
            assert scene.shown(sheet) == chosen.shows
            assert set(outcome.facts) <= scene.facts(sheet)
            return
        with pytest.raises(Refused, match=outcome.words) as caught:
            chosen.act(scene)
        assert (caught.value.status, written_by_actor(scene)) == (outcome.status, mine)
        if outcome is not FORBIDDEN:
            assert scene.shown(scene.sheet()) == chosen.shows
            return
        assert head(scene.dairy)[0] == size
        if scene.role == Role.INSPECTOR and not chosen.own:  # one role is enough: no record, no other sheet
            assert scene.shown(scene.sheet()) == shown_before
