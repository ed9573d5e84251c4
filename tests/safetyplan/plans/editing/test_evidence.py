"""A document kept with a validation: sent along, named by its digest, opened again, never a page of ours."""

import hashlib

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection

from safetyplan.integrity import guards
from safetyplan.integrity.models import StoredFile
from safetyplan.integrity.verification import verify
from safetyplan.plans.confirming import keep_evidence
from safetyplan.plans.models import EvidenceKept
from tests.builders import at, hours
from tests.cast import Cast
from tests.safetyplan.plans.editing.programmes_stage import begun, document, get, item, send
from tests.web import entries, text_of

PDF = b"%PDF-1.7 an invented report"
DIGEST = hashlib.sha256(PDF).hexdigest()
TYPED = {"kind": "trial", "text": "24 vats followed", "controls": ["CCP2"], "reference": "Report 7"}


def a_file(name: str = "report.pdf", content: bytes = PDF) -> SimpleUploadedFile:
    """Give a file as a browser sends it."""
    return SimpleUploadedFile(name, content, "text/html")


def test_a_document_is_kept_and_the_plan_names_it_by_its_digest(cast: Cast) -> None:
    begun(cast)
    before = entries(cast.dairy)

    answer = send(cast, "plan_validation", "W2", **TYPED, file=a_file())

    assert answer.status_code == 302
    found = item(cast, "validations", "W2")
    assert [found["file"], found["file_name"]] == [DIGEST, "report.pdf"]
    assert entries(cast.dairy) == before + 1
    assert verify(cast.dairy) == []


@pytest.mark.parametrize("who", ["owner", "maker", "reviewer", "inspector"])
def test_everybody_of_the_dairy_opens_it_as_a_file(cast: Cast, who: str) -> None:
    begun(cast)
    send(cast, "plan_validation", "W2", **TYPED, file=a_file('a"b<i>.pdf'))

    answer = get(cast, getattr(cast, who), "plan_evidence", DIGEST)

    assert b"".join(answer) == PDF  # type: ignore[arg-type]
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer["Content-Security-Policy"] == "default-src 'none'; sandbox"
    answer.close()


def test_a_stranger_or_an_unknown_digest_finds_nothing(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_validation", "W2", **TYPED, file=a_file())

    assert get(cast, cast.stranger, "plan_evidence", DIGEST).status_code == 404
    assert get(cast, cast.owner, "plan_evidence", "0" * 64).status_code == 404
    assert get(cast, cast.owner, "plan_evidence", "W2").status_code == 404


def test_a_document_of_another_dairy_is_not_opened_here(cast: Cast) -> None:
    with at(cast.other_dairy, hours(1)):
        keep_evidence(establishment=cast.other_dairy, by=cast.stranger, name="a.pdf", content=PDF)

    assert get(cast, cast.owner, "plan_evidence", DIGEST).status_code == 404


def test_the_lists_link_to_a_kept_document_and_say_of_another_that_it_is_not_here(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_validation", "W2", **TYPED, file=a_file())
    kept = text_of(get(cast, cast.owner, "plan_programmes"))
    validations = document(cast)["validations"]
    validations[1]["file"] = "a" * 64
    begun(cast, validations=validations)
    absent = text_of(get(cast, cast.owner, "plan_programmes"))

    assert f"/plan/evidence/{DIGEST}/" in kept
    assert "not kept here" not in kept
    assert "not kept here: attach it again" in absent
    assert "/plan/evidence/" not in absent


def test_changing_other_words_leaves_the_document_named(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_validation", "W2", **TYPED, file=a_file())

    send(cast, "plan_validation", "W2", **{**TYPED, "reference": "Report 8"})

    assert item(cast, "validations", "W2")["file"] == DIGEST


def test_a_document_can_be_named_no_more_and_stays_kept(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_validation", "W2", **TYPED, file=a_file())

    send(cast, "plan_validation", "W2", **TYPED, without_file="on")

    found = item(cast, "validations", "W2")
    assert [found["file"], found["file_name"]] == ["", ""]
    assert EvidenceKept.objects.of(cast.dairy).count() == 1


def test_to_send_a_document_and_to_name_none_at_once_is_asked_back(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_validation", "W2", **TYPED, file=a_file())

    answer = send(cast, "plan_validation", "W2", **TYPED, file=a_file(), without_file="on")

    assert answer.status_code == 422
    assert "not both" in text_of(answer)


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("empty.pdf", b"", "The file is empty."),
        ("page.pdf", b"<html><script>", "Attach a PDF, PNG, JPEG or plain text file."),
        ("program.pdf", b"MZ\x00\x01", "Attach a PDF, PNG, JPEG or plain text file."),
        ("large.txt", b"a" * (10 * 1024 * 1024 + 1), "The file is larger than 10 MB."),
    ],
)
def test_a_document_of_another_kind_is_refused_at_its_field_and_nothing_is_kept(
    cast: Cast, name: str, content: bytes, message: str
) -> None:
    begun(cast)
    before = (entries(cast.dairy), document(cast))

    answer = send(cast, "plan_validation", "W2", **TYPED, file=a_file(name, content))

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert "24 vats followed" in page
    assert (entries(cast.dairy), document(cast)) == before


@pytest.mark.parametrize(
    ("typed", "revision", "status"),
    [({"text": ""}, "", 422), ({"valid_until": "soon"}, "", 422), ({}, "9", 409)],
)
def test_a_form_refused_for_something_else_keeps_no_document_and_asks_for_it_again(
    cast: Cast, typed: dict[str, str], revision: str, status: int
) -> None:
    begun(cast)
    before = entries(cast.dairy)

    answer = send(cast, "plan_validation", "W2", revision=revision, **{**TYPED, **typed}, file=a_file())

    assert answer.status_code == status
    assert "Choose the document again" in text_of(answer)
    assert entries(cast.dairy) == before
    assert not EvidenceKept.objects.of(cast.dairy).exists()


def test_a_stranger_cannot_keep_a_document_in_this_dairy(cast: Cast) -> None:
    begun(cast)

    answer = send(cast, "plan_validation", "W2", by=cast.stranger, **TYPED, file=a_file())

    assert answer.status_code == 404
    assert not StoredFile.objects.of(cast.dairy).exists()


def test_verification_misses_a_kept_document_that_is_gone(cast: Cast) -> None:
    begun(cast)
    send(cast, "plan_validation", "W2", **TYPED, file=a_file())
    guards.remove(connection)
    StoredFile.objects.of(cast.dairy).delete()

    assert [finding.code for finding in verify(cast.dairy)] == ["file"]
