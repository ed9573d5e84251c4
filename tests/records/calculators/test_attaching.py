"""A calculation attached to a deviation: computed again, kept with its working, shown and printed."""

from io import BytesIO

import pytest
from django.urls import reverse
from pypdf import PdfReader

from records.deviations.models import CalculationAttached
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from safetyplan.integrity import canonical
from safetyplan.integrity.form_claims import new_uuid
from safetyplan.integrity.verification import verify
from tests.builders import at, hours
from tests.cast import Cast
from tests.records.calculators.examples import EXAMPLES
from tests.records.deviations.stage import Stage, slow_vat
from tests.remembering import told_again
from tests.web import entries, signed_in, text_of

TYPED = EXAMPLES["brine", "make"]


@pytest.fixture
def stage(working: Cast) -> Stage:
    """Make a slow vat."""
    return told_again("slow vat", lambda: slow_vat(working))


def attach(stage: Stage, who: str, uuid: str = "", **changed: str):  # type: ignore[no-untyped-def]
    """Attach the example as a person."""
    typed = {**TYPED, "deviation": str(stage.deviation.pk), "uuid": uuid or new_uuid(), **changed}
    address = reverse("calculation_attach", args=[stage.dairy.slug, "brine", "make"])
    with at(stage.dairy, hours(28)):
        return signed_in(getattr(stage.cast, who)).post(address, typed)


def kept(stage: Stage) -> list[CalculationAttached]:
    """Give what is attached."""
    return list(CalculationAttached.objects.of(stage.dairy))


def test_a_maker_attaches_a_calculation_and_the_deviation_shows_it_with_its_working(stage: Stage) -> None:
    answer = attach(stage, "maker", note="Brine made anew")

    assert answer["Location"] == f"{stage.url()}#evaluate"
    page = text_of(stage.get(stage.cast.inspector))
    row = kept(stage)[0]
    assert all(line in page for line in [*row.words()["result"], *row.words()["steps"], "Brine made anew"])


def test_an_inspector_may_not_attach_and_a_reviewer_may(stage: Stage) -> None:
    assert attach(stage, "inspector").status_code == 403
    assert kept(stage) == []
    assert attach(stage, "reviewer").status_code == 302
    assert len(kept(stage)) == 1


def test_a_stranger_finds_nothing_to_attach_to(stage: Stage) -> None:
    assert attach(stage, "stranger").status_code == 404


def test_sent_twice_it_is_attached_once(stage: Stage) -> None:
    uuid = new_uuid()
    attach(stage, "maker", uuid)
    attach(stage, "maker", uuid)
    assert len(kept(stage)) == 1


def test_a_result_sent_along_is_ignored_and_computed_again(stage: Stage) -> None:
    attach(stage, "maker", result="All is well", shown="All is well")
    assert "All is well" not in kept(stage)[0].shown
    assert canonical.loads(kept(stage)[0].inputs.encode())["water_volume"] == TYPED["water_volume"]


def test_inputs_that_cannot_be_read_attach_nothing_and_stay_on_the_page(stage: Stage) -> None:
    before = entries(stage.dairy)
    answer = attach(stage, "maker", water_volume="many litres")
    assert answer.status_code == 422
    assert "many litres" in answer.content.decode()
    assert entries(stage.dairy) == before


def test_without_a_deviation_chosen_it_is_refused_and_the_result_stays(stage: Stage) -> None:
    answer = attach(stage, "maker", deviation="")
    assert answer.status_code == 422
    assert "Choose the deviation." in text_of(answer)
    assert "Working, step by step" in text_of(answer)


def test_a_deviation_of_another_dairy_cannot_be_chosen(stage: Stage) -> None:
    assert attach(stage, "maker", deviation=new_uuid()).status_code == 422
    assert kept(stage) == []


def printed(stage: Stage) -> str:
    """Print the lot and give the text of the pages."""
    with at(stage.dairy, hours(29)):
        issue = issue_print(
            establishment=stage.dairy, by=stage.cast.owner, what="lot", subject=str(stage.lot.pk)
        )
    reader = PdfReader(BytesIO(kept_bytes(issue)))
    return "\n".join(page.extract_text() for page in reader.pages)


def test_an_attached_calculation_is_part_of_the_verified_record_and_of_the_print(stage: Stage) -> None:
    attach(stage, "maker", note="Brine made anew")

    assert verify(stage.dairy) == []
    text = "".join(printed(stage).split())
    words = kept(stage)[0].words()
    told = [*words["result"], *words["steps"], "Brine made anew"]
    assert [line for line in told if "".join(line.split()) not in text] == []


def test_a_long_log_is_printed_whole_over_several_pages(stage: Stage) -> None:
    log = "\n".join(f"{n} {4 + n % 7}.{n % 10}" for n in range(400))
    typed = {**EXAMPLES["excursion", "time_in_warmth"], "temperature_log": log}
    address = reverse("calculation_attach", args=[stage.dairy.slug, "excursion", "time-in-warmth"])
    with at(stage.dairy, hours(28)):
        client = signed_in(stage.cast.maker)
        client.post(address, {**typed, "deviation": str(stage.deviation.pk), "uuid": new_uuid()})

    text = " ".join(printed(stage).split())
    assert "399 4.9" in text
    assert text.count(" | ") == 399
