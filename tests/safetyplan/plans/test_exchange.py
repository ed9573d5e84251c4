"""A plan as a file: written, described, read in elsewhere, written again; and what is no plan is refused."""

import json
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from jsonschema import Draft202012Validator

from safetyplan.integrity import canonical
from safetyplan.integrity.models import Entry
from safetyplan.plans.document import DocumentError, read
from safetyplan.plans.document_keys import KEYS
from safetyplan.plans.file_form import CHILDREN, file_text
from safetyplan.plans.models import PlanDraft
from tests.builders import PLAN_FILE, at, hours, plan_in_force
from tests.calculation.kind_cases import CASES
from tests.cast import Cast, make_cast
from tests.safetyplan.plans.mutations import GOOD, Mutated, changed, mutated_documents, one_of_each_place
from tests.safetyplan.plans.stage import get
from tests.web import signed_in, text_of

REFERENCE = PLAN_FILE.parent.parent / "reference"
SCHEMA = json.loads((REFERENCE / "plan.schema.json").read_text(encoding="utf-8"))
VALIDATOR = Draft202012Validator(SCHEMA)


def bring(cast: Cast, content: bytes) -> HttpResponse:
    """Bring a plan file as the draft."""
    revision = PlanDraft.objects.of(cast.dairy).values_list("revision", flat=True).first()
    sent = {"revision": str(revision or ""), "file": SimpleUploadedFile("plan.json", content)}
    with at(cast.dairy, hours(1)):
        return signed_in(cast.owner).post(reverse("plan_text", args=[cast.dairy.slug]), sent)


def file_of_draft(cast: Cast) -> bytes:
    """Write the draft as a file."""
    return bytes(get(cast, cast.owner, "plan_export").content)


def test_a_plan_exported_imported_and_exported_again_is_the_same_bytes(cast: Cast) -> None:
    with at(cast.dairy, hours(0)):
        plan_in_force(cast)
    first = bytes(get(cast, cast.owner, "plan_version_export", 1).content)
    elsewhere = make_cast("elsewhere")

    answer = bring(elsewhere, first)

    assert answer.status_code == 302
    assert file_of_draft(elsewhere) == first


def test_the_file_of_a_version_says_what_it_is(working: Cast) -> None:
    answer = get(working, working.inspector, "plan_version_export", 1)

    assert answer["Content-Type"] == "application/json; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="plan-near-version-1.json"'
    assert json.loads(answer.content) == GOOD


def test_there_is_no_file_without_a_draft(working: Cast) -> None:
    assert get(working, working.owner, "plan_export").status_code == 404
    assert get(working, working.owner, "plan_version_export", 7).status_code == 404


def test_a_plan_brought_from_elsewhere_is_confirmed_by_nobody(working: Cast) -> None:
    content = bytes(get(working, working.owner, "plan_version_export", 1).content)
    elsewhere = make_cast("elsewhere")
    bring(elsewhere, content)

    page = text_of(get(elsewhere, elsewhere.owner, "plan_draft"))

    assert "P018" in page
    assert "P020" in page


def test_the_order_of_keys_in_a_file_means_nothing() -> None:
    text = canonical.dumps(GOOD).decode()

    assert json.loads(file_text(text)) == GOOD
    assert list(json.loads(file_text(text)))[:2] == ["schema", "title"]


def test_every_object_of_the_document_has_its_order() -> None:
    assert set(CHILDREN.values()) - {"limit"} == set(KEYS) - {"plan", "open"}


# the description of the form, checked with a validator of JSON Schema draft 2020-12
def test_the_description_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


def test_the_plan_of_the_demonstration_fits_the_description() -> None:
    assert [error.message for error in VALIDATOR.iter_errors(GOOD)] == []


def test_the_description_knows_the_keys_that_the_reader_knows() -> None:
    described = {name: set(SCHEMA["$defs"][name]["properties"]) for name in KEYS if name in SCHEMA["$defs"]}
    described["plan"] = set(SCHEMA["properties"])
    described["recall"] = set(SCHEMA["properties"]["recall"]["properties"])
    described["positive_action"] = set(SCHEMA["properties"]["positive_action"]["properties"])
    described["action"] = {"code", "text"}
    described["open"] = set(SCHEMA["$defs"]["open_limit"]["properties"])

    assert described == {name: set(keys.split()) for name, keys in KEYS.items()}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_limit_of_every_kind_fits_the_description(case: Any) -> None:
    document = json.loads(json.dumps(case.document))
    validator = VALIDATOR.evolve(schema={"$ref": "#/$defs/limit", "$defs": SCHEMA["$defs"]})

    assert [error.message for error in validator.iter_errors(document)] == []


@pytest.mark.parametrize("path", one_of_each_place(), ids=lambda path: ".".join(map(str, path)))
def test_what_the_reader_takes_fits_the_description(path: Any) -> None:
    """Whatever one value is changed into: if the reader takes the document, the description does too."""
    for value in (None, True, -1, 3, "odd", [], ["odd"], {}, {"odd": 1}):
        document = changed(GOOD, path, value)
        try:
            read(document)
        except DocumentError:
            continue
        assert VALIDATOR.is_valid(document), value


@given(mutated=mutated_documents())
@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_file_made_wrong_is_refused_clearly_and_nothing_is_stored(cast: Cast, mutated: Mutated) -> None:
    document = mutated.document
    entries = Entry.objects.of(cast.dairy).count()
    PlanDraft.objects.of(cast.dairy).delete()

    answer = bring(cast, json.dumps(document).encode())

    drafts = PlanDraft.objects.of(cast.dairy).count()
    assert answer.status_code in (302, 422)
    assert drafts == (1 if answer.status_code == 302 else 0)
    assert Entry.objects.of(cast.dairy).count() == entries
    if answer.status_code == 422:
        assert refusal_of(document) in text_of(answer).replace("&#x27;", "'").replace("&quot;", '"')


def refusal_of(document: Any) -> str:
    """Give the path that a refusal must name."""
    try:
        read(document)
    except DocumentError as error:
        return error.where.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return ""


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe\x00",
        b"%PDF-1.7",
        b"{",
        b"null",
        b"[]",
        b'{"schema": 2, "schema": 2}',
        b'{"a":' * 5000,
        PLAN_FILE.read_bytes()[:-20],
    ],
)
def test_what_is_no_plan_file_is_refused_and_a_good_one_is_taken(cast: Cast, content: bytes) -> None:
    refused = bring(cast, content)

    assert refused.status_code == 422
    assert not PlanDraft.objects.of(cast.dairy).exists()
    assert bring(cast, PLAN_FILE.read_bytes()).status_code == 302
