"""Closing a deviation: by somebody else, when everything is done, or as a recording error with evidence."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from records.checks.tick import tick
from records.deviations.models import Cause, Closure
from records.deviations.queries import open_deviations
from tests.builders import at, hours
from tests.cast import Cast, allow_self_review
from tests.records.deviations.stage import CAUSE, EVALUATED, HELD, Stage, signature, slow_vat
from tests.remembering import told_again
from tests.web import text_of

COMPLETED = {"how": "completed", "why": "Read everything, all is there"}
ERROR = {"how": "recording_error", "why": "The chart shows 4.58 at that time"}


@pytest.fixture
def stage(working: Cast) -> Stage:
    """Make a slow vat."""
    return told_again("slow vat", lambda: slow_vat(working))


@pytest.fixture
def finished(stage: Stage) -> Stage:
    """Bring the slow vat to where only the review is missing."""
    stage.finish()
    return stage


def closed(stage: Stage) -> Closure | None:
    """Give the closure."""
    found: Closure | None = Closure.objects.of(stage.dairy).first()
    return found


def test_a_deviation_is_not_closed_before_everything_is_done(stage: Stage) -> None:
    answer = stage.post(stage.cast.reviewer, "close", **signature(**COMPLETED))

    page = text_of(answer)
    assert answer.status_code == 409
    assert "Not finished: the hold, a corrective action, cause and prevention, the evaluation" in page
    assert COMPLETED["why"] in page
    assert closed(stage) is None


def test_a_reviewer_closes_what_is_done(finished: Stage) -> None:
    answer = finished.post(finished.cast.reviewer, "close", **signature(**COMPLETED))

    page = text_of(finished.get(finished.cast.reviewer))
    found = closed(finished)
    assert answer.status_code == 302
    assert found is not None
    assert found.self_reviewed is False
    assert "Closed as completed." in page
    assert "Reviewer Person" in page
    assert "<form" not in page.split('id="close"')[1].split("</main>")[0]


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ({"how": ""}, "Choose how the deviation ends."),
        ({"why": ""}, "Give a reason (at least three letters)."),
        ({"password": "wrong"}, "Nothing was signed."),
    ],
)
def test_a_closure_that_lacks_something_is_refused(
    finished: Stage, typed: dict[str, str], message: str
) -> None:
    answer = finished.post(finished.cast.reviewer, "close", **{**signature(**COMPLETED), **typed})

    assert answer.status_code == 422
    assert message in text_of(answer)
    assert closed(finished) is None


def test_the_doer_does_not_close_the_own_work(finished: Stage) -> None:
    finished.act(by=finished.cast.owner)

    answer = finished.post(finished.cast.owner, "close", **signature(**COMPLETED))

    page = text_of(answer)
    assert answer.status_code == 409
    assert "somebody else has to review it" in page
    assert COMPLETED["why"] in page
    assert closed(finished) is None
    assert finished.post(finished.cast.reviewer, "close", **signature(**COMPLETED)).status_code == 302


def test_where_self_review_is_allowed_the_closure_says_so(finished: Stage) -> None:
    finished.act(by=finished.cast.owner)
    allow_self_review(finished.cast)

    warned = text_of(finished.get(finished.cast.owner))
    answer = finished.post(finished.cast.owner, "close", **signature(**COMPLETED))

    found = closed(finished)
    assert "the record will say “self-reviewed”" in warned
    assert answer.status_code == 302
    assert found is not None
    assert found.self_reviewed is True
    assert "state-self_reviewed" in text_of(finished.get(finished.cast.inspector))


def test_a_recording_error_needs_evidence(stage: Stage) -> None:
    refused = stage.post(stage.cast.reviewer, "close", **signature(**ERROR))
    stage.hold()
    stage.evaluate()
    taken = stage.post(stage.cast.reviewer, "close", **signature(**ERROR))

    found = closed(stage)
    assert refused.status_code == 409
    assert "A recording error needs evidence" in text_of(refused)
    assert taken.status_code == 302
    assert found is not None
    assert found.recording_error is True


def test_an_attached_document_is_evidence_of_a_recording_error(stage: Stage) -> None:
    document = SimpleUploadedFile("chart.txt", b"pH 4.58 at 24 h")
    stage.post(stage.cast.maker, "attach", file=document)  # type: ignore[arg-type]

    answer = stage.post(stage.cast.reviewer, "close", **signature(**ERROR))

    assert answer.status_code == 302


def test_the_doer_never_closes_as_a_recording_error_not_even_where_self_review_is_allowed(
    stage: Stage,
) -> None:
    stage.hold()
    stage.evaluate()
    stage.act(by=stage.cast.owner)
    allow_self_review(stage.cast)

    answer = stage.post(stage.cast.owner, "close", **signature(**ERROR))

    assert answer.status_code == 409
    assert "somebody other than the person who recorded" in text_of(answer)
    assert closed(stage) is None


def test_a_check_that_was_not_made_is_no_recording_error(stage: Stage) -> None:
    with at(stage.dairy, hours(30)):
        tick(stage.dairy)
    missed = open_deviations(stage.dairy).filter(cause=Cause.NOT_MADE).first()
    assert missed is not None
    other = Stage(stage.cast, stage.lot, missed)
    with at(stage.dairy, hours(30)):
        other.hold()
        other.evaluate()

    answer = other.post(stage.cast.reviewer, "close", **signature(**ERROR))

    assert answer.status_code == 409
    assert "A check that was not made is not a recording error." in text_of(answer)


def test_a_closure_sent_twice_is_signed_once(finished: Stage) -> None:
    answers = [
        finished.post(finished.cast.reviewer, "close", **signature(**COMPLETED)) for _again in range(2)
    ]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Closure.objects.of(finished.dairy).count() == 1


@pytest.mark.parametrize(
    ("step", "typed"),
    [
        ("hold", {**HELD, "why": "Counted again"}),
        ("action", {"text": "Chilled again"}),
        ("evaluate", EVALUATED),
        ("dispose", signature(seen="1", pieces_release="1", mass_release="0.1")),
        ("cause", CAUSE),
        ("recall", signature(recall="no", why="Nothing left")),
    ],
)
def test_a_closed_deviation_takes_nothing_more(finished: Stage, step: str, typed: dict[str, str]) -> None:
    finished.post(finished.cast.reviewer, "close", **signature(**COMPLETED))

    answer = finished.post(finished.cast.owner, step, **typed)

    assert answer.status_code == 409
    assert "This deviation is closed." in text_of(answer)
