"""The list, a new deviation, attached documents, and who may see and do what."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from records.deviations.models import Deviation, FileAttached
from records.deviations.services import open_unforeseen
from safetyplan.integrity.files import LARGEST
from safetyplan.plans.queries import in_force
from tests.builders import a_lot, at, hours
from tests.cast import Cast, open_dairy
from tests.records.deviations.stage import Stage, signature, slow_vat
from tests.remembering import told_again
from tests.web import entries, signed_in, text_of

STEPS = ("lot", "hold", "action", "evaluate", "dispose", "cause", "recall", "close", "attach")
ALLOWED = {
    "maker": {"lot", "hold", "action", "cause", "attach"},
    "reviewer": {"lot", "hold", "action", "cause", "attach", "close"},
    "inspector": set(),
    "owner": set(STEPS),
}
PDF = b"%PDF-1.7 a report"


@pytest.fixture
def stage(working: Cast) -> Stage:
    """Make a slow vat."""
    return told_again("slow vat", lambda: slow_vat(working))


def listed(cast: Cast, query: str = "") -> str:
    """Open the list as the inspector."""
    with at(cast.dairy, hours(28)):
        url = reverse("deviations", args=[cast.dairy.slug])
        return text_of(signed_in(cast.inspector).get(f"{url}{query}"))


def unforeseen(cast: Cast, count: int) -> None:
    """Open some deviations that belong to no lot."""
    with at(cast.dairy, hours(3)):
        version = in_force(cast.dairy, hours(3))
        assert version is not None
        for number in range(count):
            open_unforeseen(
                establishment=cast.dairy,
                by=cast.maker,
                plan=version.plan(),
                lot=None,
                description=f"Something wrong, number {number}",
            )


@pytest.mark.parametrize("who", sorted(ALLOWED))
@pytest.mark.parametrize("step", STEPS)
def test_each_step_is_for_the_roles_that_may_do_it(stage: Stage, who: str, step: str) -> None:
    before = entries(stage.dairy)

    answer = stage.post(getattr(stage.cast, who), step)

    refused_for_role = answer.status_code == 403
    assert refused_for_role is (step not in ALLOWED[who])
    assert entries(stage.dairy) == before


@pytest.mark.parametrize("who", ["maker", "reviewer", "inspector", "owner"])
def test_everybody_of_the_dairy_reads_the_page(stage: Stage, who: str) -> None:
    page = text_of(stage.get(getattr(stage.cast, who)))

    assert "Acid at 24 hours" in page
    assert "pH 4.71" in page
    assert "TF-0514" in page


def test_who_may_not_do_a_step_reads_who_may(stage: Stage) -> None:
    page = text_of(stage.get(stage.cast.inspector))

    assert "This is for: Maker, Reviewer, Qualified individual, Responsible person." in page
    assert "This is for: Reviewer." in page
    assert "<form" not in page.split('<ol class="steps">')[1].split("</ol>")[0]


@pytest.mark.parametrize("step", ["", *STEPS])
def test_a_stranger_is_told_nothing(stage: Stage, step: str) -> None:
    client = signed_in(stage.cast.stranger)

    answer = client.post(stage.url(step)) if step else client.get(stage.url())

    assert answer.status_code == 404


def test_the_deviation_of_another_dairy_is_not_found(stage: Stage) -> None:
    url = reverse("deviation", args=[stage.cast.other_dairy.slug, stage.deviation.pk])

    assert signed_in(stage.cast.stranger).get(url).status_code == 404


def test_who_is_not_signed_in_is_asked_to_sign_in(stage: Stage) -> None:
    answer = Client().get(stage.url())

    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("sign_in"))


def test_the_list_begins_with_what_is_open(stage: Stage) -> None:
    done = slow_vat(stage.cast, "TF-0516")
    done.finish()
    done.post(stage.cast.reviewer, "close", **signature(how="completed", why="All is there"))

    only_open, every = listed(stage.cast), listed(stage.cast, "?show=all")

    assert "TF-0514" in only_open
    assert "TF-0516" not in only_open
    assert "TF-0516" in every
    assert "state-closed" in every


def test_the_list_is_turned_page_by_page(working: Cast) -> None:
    unforeseen(working, 27)

    first, second = listed(working), listed(working, "?show=open&before=3")

    assert "Deviation 27<" in first
    assert "Deviation 2<" not in first
    assert "?show=open&amp;before=3" in first
    assert "Deviation 2<" in second
    assert "Deviation 3<" not in second


@pytest.mark.parametrize("before", ["abc", "-1", "9" * 40, "²"])
def test_a_page_that_does_not_exist_shows_the_first(working: Cast, before: str) -> None:
    unforeseen(working, 1)

    assert "Deviation 1<" in listed(working, f"?before={before}")


def test_the_list_asks_the_database_as_often_for_many_as_for_few(working: Cast) -> None:
    unforeseen(working, 2)
    listed(working)
    with CaptureQueriesContext(connection) as few:
        listed(working)
    unforeseen(working, 20)

    with CaptureQueriesContext(connection) as many:
        listed(working)

    assert len(many) == len(few)


def test_something_the_plan_did_not_foresee_opens_a_deviation(working: Cast) -> None:
    with at(working.dairy, hours(2)):
        lot = a_lot(working, started=hours(1.9))
        url = reverse("deviation_new", args=[working.dairy.slug])
        answer = signed_in(working.maker).post(
            url, {"lot": str(lot.pk), "description": "A mould broke into the curd"}
        )

    opened = Deviation.objects.of(working.dairy).get()
    assert answer.status_code == 302
    assert answer["Location"] == reverse("deviation", args=[working.dairy.slug, opened.pk])
    assert opened.hold_required is True


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"description": ""}, "Give a reason (at least three letters)."),
        ({"description": "x" * 2001}, "at most 2000 characters"),
        ({"description": "A spill", "lot": "00000000-0000-4000-8000-000000000000"}, "Select a valid choice"),
        ({"description": "A spill", "lot": "none of ours"}, "Select a valid choice"),
    ],
)
def test_an_unforeseen_deviation_needs_words_and_a_lot_of_ours(
    working: Cast, typed: dict[str, str], message: str
) -> None:
    with at(working.dairy, hours(2)):
        answer = signed_in(working.maker).post(reverse("deviation_new", args=[working.dairy.slug]), typed)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert typed["description"] in page
    assert not Deviation.objects.of(working.dairy).exists()


def test_without_a_plan_there_is_nothing_to_deviate_from(db: None) -> None:
    dairy, owner = open_dairy("planless", "founder")

    answer = signed_in(owner).post(reverse("deviation_new", args=[dairy.slug]), {"description": "A spill"})

    assert answer.status_code == 409
    assert "There is no approved plan yet" in text_of(answer)
    assert "A spill" in text_of(answer)


def test_an_unforeseen_deviation_sent_twice_is_opened_once(working: Cast) -> None:
    url = reverse("deviation_new", args=[working.dairy.slug])
    with at(working.dairy, hours(2)):
        for _again in range(2):
            signed_in(working.maker).post(url, {"description": "A mould broke into the curd"})

    assert Deviation.objects.of(working.dairy).count() == 1


def test_an_inspector_opens_no_deviation(working: Cast) -> None:
    url = reverse("deviation_new", args=[working.dairy.slug])

    assert signed_in(working.inspector).get(url).status_code == 403


def attach(stage: Stage, name: str, content: bytes) -> tuple[int, str]:
    """Attach a document; give the status and the page."""
    document = SimpleUploadedFile(name, content)
    answer = stage.post(stage.cast.maker, "attach", file=document)  # type: ignore[arg-type]
    return answer.status_code, text_of(answer)


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("tool.exe", b"MZ\x90\x00\x03", "Attach a PDF, PNG, JPEG or plain text file."),
        ("page.txt", b"<html><script>1</script></html>", "Attach a PDF, PNG, JPEG or plain text file."),
        ("empty.pdf", b"", "The file is empty."),
        ("huge.pdf", PDF + b"x" * LARGEST, "The file is larger than 10 MB."),
    ],
)
def test_only_documents_of_a_bearable_size_are_attached(
    stage: Stage, name: str, content: bytes, message: str
) -> None:
    status, page = attach(stage, name, content)

    assert status == 422
    assert message in page
    assert not FileAttached.objects.of(stage.dairy).exists()
    assert attach(stage, "report.pdf", PDF)[0] == 302


def test_attaching_nothing_is_refused(stage: Stage) -> None:
    answer = stage.post(stage.cast.maker, "attach")

    assert answer.status_code == 422
    assert "Choose a file." in text_of(answer)


def test_the_same_document_is_attached_once(stage: Stage) -> None:
    for _again in range(2):
        attach(stage, "report.pdf", PDF)

    assert FileAttached.objects.of(stage.dairy).count() == 1


def test_an_attached_document_is_saved_and_never_shown_as_a_page(stage: Stage) -> None:
    attach(stage, "count of 24 h.pdf", PDF)
    kept = FileAttached.objects.of(stage.dairy).get()

    answer = signed_in(stage.cast.inspector).get(reverse("file", args=[stage.dairy.slug, kept.pk]))

    assert b"".join(answer.streaming_content) == PDF  # type: ignore[attr-defined]
    assert answer["Content-Disposition"] == 'attachment; filename="count of 24 h.pdf"'
    assert answer["Content-Type"] == "application/pdf"
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer["Content-Security-Policy"]


def test_a_stranger_gets_no_document(stage: Stage) -> None:
    attach(stage, "report.pdf", PDF)
    kept = FileAttached.objects.of(stage.dairy).get()

    through_ours = signed_in(stage.cast.stranger).get(reverse("file", args=[stage.dairy.slug, kept.pk]))
    through_theirs = signed_in(stage.cast.stranger).get(
        reverse("file", args=[stage.cast.other_dairy.slug, kept.pk])
    )

    assert through_ours.status_code == 404
    assert through_theirs.status_code == 404


@pytest.mark.parametrize("name", ["deviations", "deviation_new", "instruments"])
def test_reading_writes_nothing(stage: Stage, name: str) -> None:
    before = entries(stage.dairy)

    answer = signed_in(stage.cast.owner).get(reverse(name, args=[stage.dairy.slug]))

    assert answer.status_code == 200
    assert entries(stage.dairy) == before
