"""The draft as a document: written, brought as a file, refused with the place and kept."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from safetyplan.integrity.models import Entry
from tests.cast import Cast
from tests.safetyplan.plans.stage import (
    PLAN,
    changed_plan,
    document_of,
    draft_of,
    get,
    post,
    write,
)
from tests.web import text_of

FORM_1 = json.dumps(
    {"schema": 1, "title": "Old", "form_number": "1", "products": [], "hazards": [], "controls": []}
)


def test_a_text_becomes_the_draft(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_text", text=PLAN, reason="A new press", revision="")

    draft = draft_of(cast)
    assert answer.status_code == 302
    assert draft is not None
    assert draft.reason == "A new press"
    assert document_of(cast)["products"][0]["code"] == "TF"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "Line 1 cannot be read"),
        ('{"schema": 2,\n "title": oops}', "Line 2 cannot be read"),
        ("[]", "plan: must be an object"),
        ('{"schema": 3}', "plan.schema: must be 2"),
        ('{"schema": 2}', "plan.products: is missing"),
        (PLAN.replace('"at_most": "7"', '"at_most": 7', 1), ".limit: "),
        (PLAN.replace('"class": "ccp"', '"class": "cp"', 1), ".class: must be ccp, oprp or prp"),
        (PLAN.replace("Tarrow Fresh", "\\ud800", 1), "not a character"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_a_text_that_is_no_plan_is_refused_with_the_place_and_stays(
    cast: Cast, text: str, message: str
) -> None:
    answer = post(cast, cast.owner, "plan_text", text=text, reason="Because of the study", revision="")

    page = text_of(answer).replace("&quot;", '"').replace("&#x27;", "'")
    assert answer.status_code == 422
    assert message in page
    assert text in page
    assert "Because of the study" in page
    assert draft_of(cast) is None
    assert post(cast, cast.owner, "plan_text", text=PLAN, reason="", revision="").status_code == 302


def test_the_line_that_cannot_be_read_is_shown(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_text", text='{"schema": 2,\n "title": oops}', revision="")

    assert "<code>Line 2: &quot;title&quot;: oops}</code>" in text_of(answer)


def test_a_draft_that_somebody_changed_meanwhile_is_not_overwritten(cast: Cast) -> None:
    mine, theirs = changed_plan(title="My title"), changed_plan(title="Their title")
    seen = str(write(cast).revision)
    write(cast, theirs)

    refused = post(cast, cast.owner, "plan_text", text=mine, reason="", revision=seen)
    kept = draft_of(cast)
    again = post(cast, cast.owner, "plan_text", text=mine, reason="", revision="2")

    page = text_of(refused)
    saved = draft_of(cast)
    assert refused.status_code == 409
    assert "Somebody changed the draft meanwhile." in page
    assert "My title" in page.split('id="theirs"')[1].split("</textarea>")[1]
    assert "Their title" in page.split('id="theirs"')[1].split("</textarea>")[0]
    assert 'name="revision" value="2"' in page
    assert kept is not None
    assert "Their title" in kept.text
    assert again.status_code == 302
    assert saved is not None
    assert "My title" in saved.text


def test_a_plan_file_becomes_the_draft(cast: Cast) -> None:
    file = SimpleUploadedFile("plan.json", b"\xef\xbb\xbf" + PLAN.encode())

    answer = post(cast, cast.owner, "plan_text", file=file, revision="")

    draft = draft_of(cast)
    assert answer.status_code == 302
    assert draft is not None
    assert "Tarrow Fresh" in draft.text


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "The file is empty."),
        (b"\xff\xfe\x00", "The file is not text in UTF-8."),
        (b" " * 2_000_001, "The file is larger than 2 MB"),
        (b'{"schema": 1,\n "title": oops}', "Line 2 cannot be read"),
    ],
)
def test_a_file_that_is_no_plan_is_refused(cast: Cast, content: bytes, message: str) -> None:
    file = SimpleUploadedFile("plan.json", content)

    answer = post(cast, cast.owner, "plan_text", file=file, revision="")

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert draft_of(cast) is None


def test_bringing_no_file_is_refused(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_text", revision="")

    assert answer.status_code == 422
    assert "Choose a plan file." in text_of(answer)


def test_the_text_of_a_refused_file_can_be_mended_on_the_page(cast: Cast) -> None:
    file = SimpleUploadedFile("plan.json", b'{"schema": 2, "title": oops}')

    page = text_of(post(cast, cast.owner, "plan_text", file=file, revision=""))

    assert "oops}</textarea>" in page


def test_a_document_of_the_first_form_is_told_to_become_the_second(cast: Cast) -> None:
    write(cast, FORM_1)
    first = text_of(get(cast, cast.owner, "plan_text"))

    answer = post(cast, cast.owner, "plan_text", text=FORM_1.replace("1", "2", 1), revision="1")

    assert "written in the first form" in first
    assert answer.status_code == 302
    assert document_of(cast)["schema"] == 2
    assert "written in the first form" not in text_of(get(cast, cast.owner, "plan_text"))


def test_who_may_not_write_reads_the_draft(cast: Cast) -> None:
    write(cast, changed_plan(title="Second plan"))

    page = text_of(get(cast, cast.maker, "plan_text"))

    assert "Second plan" in page
    assert "Save the draft" not in page


@pytest.mark.parametrize(
    ("who", "status"),
    [("owner", 302), ("maker", 403), ("reviewer", 403), ("inspector", 403), ("stranger", 404)],
)
def test_a_qualified_individual_writes_the_draft(cast: Cast, who: str, status: int) -> None:
    answer = post(cast, getattr(cast, who), "plan_text", text=PLAN, reason="", revision="")

    assert answer.status_code == status
    assert (draft_of(cast) is not None) is (who == "owner")


def test_writing_the_draft_is_no_record(cast: Cast) -> None:
    before = Entry.objects.of(cast.dairy).count()

    post(cast, cast.owner, "plan_text", text=PLAN, reason="", revision="")

    assert Entry.objects.of(cast.dairy).count() == before
