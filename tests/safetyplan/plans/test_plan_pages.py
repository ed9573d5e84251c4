"""Reading the plan, writing the draft, revising it."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from safetyplan.integrity.models import Entry
from safetyplan.plans.models import PlanApproved
from safetyplan.plans.page import example
from safetyplan.plans.services import revise
from tests.builders import at, hours
from tests.cast import Cast
from tests.safetyplan.plans.stage import PLAN, changed_plan, draft_of, get, post, signed, url, write
from tests.web import entries, text_of


@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector"])
def test_everybody_of_the_dairy_reads_the_plan(working: Cast, who: str) -> None:
    page = text_of(get(working, getattr(working, who), "plan"))

    assert "pH at most 4.60 within 24 h" in page
    assert "Staphylococcus aureus toxin" in page
    assert "Toxin forms while acid develops slowly" in page
    assert "Tag and hold the whole lot, keep it cold" in page
    assert "Approves the food-safety plan: Owner Person" in page


def test_the_plan_shows_the_steps_in_order_with_their_controls(working: Cast) -> None:
    page = text_of(get(working, working.inspector, "plan"))

    flow = page.split('<ol class="flow">')[1].split("</ol>")[0]
    assert (
        flow.index("Milk receipt") < flow.index("OPRP3") < flow.index("Heat treatment") < flow.index("CCP1")
    )


def test_before_the_first_plan_the_page_says_what_to_do(cast: Cast) -> None:
    page = text_of(get(cast, cast.owner, "plan"))

    assert "There is no approved plan yet." in page
    assert url(cast, "plan_draft") in page


def test_an_older_version_is_shown_as_superseded(working: Cast) -> None:
    draft = write(working, changed_plan(title="Second plan"))
    post(working, working.owner, "plan_approve", **signed(draft, reason="Better title"))

    old = text_of(get(working, working.inspector, "plan_version", 1))
    new = text_of(get(working, working.inspector, "plan_version", 2))

    assert "This version is not the one in force." in old
    assert "state-superseded" in old
    assert "state-approved" in new
    assert "Second plan" in new


@pytest.mark.parametrize("number", [0, 9, 10**30])
def test_a_version_that_does_not_exist_is_not_found(working: Cast, number: int) -> None:
    assert get(working, working.inspector, "plan_version", number).status_code == 404


@pytest.mark.parametrize("name", ["plan", "plan_draft"])
def test_a_stranger_is_told_nothing_and_reading_writes_nothing(working: Cast, name: str) -> None:
    before = entries(working.dairy)

    stranger = get(working, working.stranger, name)
    owner = get(working, working.owner, name, query="?start=example")

    assert [stranger.status_code, owner.status_code] == [404, 200]
    assert entries(working.dairy) == before
    assert draft_of(working) is None


@pytest.mark.parametrize(
    ("name", "allowed"),
    [("plan_draft", {"owner"}), ("plan_approve", {"owner"}), ("plan_revise", {"owner"})],
)
@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector", "stranger"])
def test_the_plan_is_written_by_those_whose_role_allows(
    working: Cast, name: str, allowed: set[str], who: str
) -> None:
    write(working)

    answer = post(working, getattr(working, who), name)

    expected = 404 if who == "stranger" else 403
    assert (answer.status_code == expected) is (who not in allowed)


def test_who_may_not_write_reads_the_draft(working: Cast) -> None:
    write(working, changed_plan(title="Second plan"))

    page = text_of(get(working, working.maker, "plan_draft"))

    assert "Second plan" in page
    assert "The responsible person signs it." in page
    assert "Save the draft" not in page


def test_the_example_is_shown_and_saved_only_on_request(cast: Cast) -> None:
    shown = text_of(get(cast, cast.owner, "plan_draft", query="?start=example"))
    nothing_yet = draft_of(cast)

    answer = post(cast, cast.owner, "plan_draft", text=example(), reason="", revision="")

    assert "not a plan" in shown
    assert "Fresh lactic cheese" in shown
    assert nothing_yet is None
    assert answer.status_code == 302
    assert draft_of(cast) is not None


def test_the_example_cannot_be_approved_before_its_hazards_are_controlled(cast: Cast) -> None:
    draft = write(cast, example())
    page = text_of(get(cast, cast.owner, "plan_draft"))

    answer = post(cast, cast.owner, "plan_approve", **signed(draft))

    assert "A significant hazard has no control in the plan." in page
    assert 'action="' + url(cast, "plan_approve") not in page
    assert answer.status_code == 409
    assert "The plan cannot be approved yet" in text_of(answer)
    assert "First plan" in text_of(answer)
    assert not PlanApproved.objects.of(cast.dairy).exists()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "Line 1 cannot be read"),
        ('{"schema": 1,\n "title": oops}', "Line 2 cannot be read"),
        ("[]", "plan: must be an object"),
        ('{"schema": 3}', "plan.schema: must be 2"),
        ('{"schema": 1}', "plan.products: is missing"),
        (PLAN.replace('"at_most": "7"', '"at_most": 7'), "controls[4].limit: "),
        (PLAN.replace('"class": "ccp"', '"class": "cp"', 1), "controls[0].class: must be ccp, oprp or prp"),
        (PLAN.replace("Tarrow Fresh", "\\ud800"), "not a character"),
        ("[" * 100_000, "nested too deeply"),
    ],
)
def test_a_text_that_is_no_plan_is_refused_with_the_place_and_stays(
    cast: Cast, text: str, message: str
) -> None:
    answer = post(cast, cast.owner, "plan_draft", text=text, reason="Because of the study", revision="")

    page = text_of(answer).replace("&quot;", '"').replace("&#x27;", "'")
    assert answer.status_code == 422
    assert message in page
    assert text in page
    assert "Because of the study" in page
    assert draft_of(cast) is None
    assert post(cast, cast.owner, "plan_draft", text=PLAN, reason="", revision="").status_code == 302


def test_the_line_that_cannot_be_read_is_shown(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_draft", text='{"schema": 1,\n "title": oops}', revision="")

    assert "<code>Line 2: &quot;title&quot;: oops}</code>" in text_of(answer)


def test_what_is_not_saved_cannot_be_signed(cast: Cast) -> None:
    write(cast)
    saved = text_of(get(cast, cast.owner, "plan_draft"))

    unsaved = text_of(post(cast, cast.owner, "plan_draft", text="oops", reason="", revision="1"))

    assert "revision 1; what was typed since is not part of it" in saved
    assert "Save your text first" in unsaved
    assert "Sign and approve" not in unsaved


def test_a_draft_that_somebody_changed_meanwhile_is_not_overwritten(cast: Cast) -> None:
    mine, theirs = changed_plan(title="My title"), changed_plan(title="Their title")
    seen = str(write(cast).revision)
    write(cast, theirs)

    refused = post(cast, cast.owner, "plan_draft", text=mine, reason="", revision=seen)
    kept = draft_of(cast)
    again = post(cast, cast.owner, "plan_draft", text=mine, reason="", revision="2")

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

    answer = post(cast, cast.owner, "plan_draft", file=file, revision="")

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

    answer = post(cast, cast.owner, "plan_draft", file=file, revision="")

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert draft_of(cast) is None


def test_bringing_no_file_is_refused(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_draft", revision="")

    assert answer.status_code == 422
    assert "Choose a plan file." in text_of(answer)


def test_the_text_of_a_refused_file_can_be_mended_on_the_page(cast: Cast) -> None:
    file = SimpleUploadedFile("plan.json", b'{"schema": 1, "title": oops}')

    page = text_of(post(cast, cast.owner, "plan_draft", file=file, revision=""))

    assert "oops}</textarea>" in page


def test_a_revision_begins_as_a_copy_and_shows_what_changes(working: Cast) -> None:
    begun = post(working, working.owner, "plan_revise")
    unchanged = text_of(get(working, working.owner, "plan_draft"))
    document = json.loads(PLAN)
    document["controls"][1]["limit"]["points"][0] |= {"limit": "4.55", "target": "4.45"}
    write(working, json.dumps(document))

    changed = text_of(get(working, working.owner, "plan_draft"))

    assert begun.status_code == 302
    assert "Nothing changes." in unchanged
    assert "Control CCP2 (Acid at 24 hours)" in changed
    assert "pH at most 4.55" in changed


def test_a_second_revision_beside_a_draft_is_refused(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        revise(establishment=working.dairy, by=working.owner)

    answer = post(working, working.owner, "plan_revise")

    assert answer.status_code == 409
    assert "There is a draft already." in text_of(answer)


def test_nothing_can_be_revised_before_the_first_version(cast: Cast) -> None:
    answer = post(cast, cast.owner, "plan_revise")

    assert answer.status_code == 409
    assert "There is no approved version to revise yet." in text_of(answer)


def test_writing_the_draft_is_no_record(cast: Cast) -> None:
    before = Entry.objects.of(cast.dairy).count()

    post(cast, cast.owner, "plan_draft", text=PLAN, reason="", revision="")

    assert Entry.objects.of(cast.dairy).count() == before
