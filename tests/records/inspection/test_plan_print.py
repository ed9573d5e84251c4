"""The plan on paper: every section and column an inspector asks for, and that an issue never changes.

The columns are those of the model forms that regulators publish: the hazard-analysis worksheet of the NCIMS,
the determination sheet of the Canadian Food Inspection Agency, and (from memory) the plan summary of the FDA.
"""

import subprocess
from io import BytesIO
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from records.inspection import services
from records.inspection.compose import render_issue
from records.inspection.models import PrintIssue
from records.inspection.queries import kept_bytes
from records.inspection.services import issue_print
from safetyplan.establishments import queries
from safetyplan.integrity.refusals import BadInput, NotAllowed
from safetyplan.plans import services as plan_services
from safetyplan.plans.confirming import confirm_figure, confirm_flow
from safetyplan.plans.figures import figures, flow_value
from safetyplan.printing import typeset
from tests.builders import at, hours
from tests.cast import Cast
from tests.records.inspection.long_plan import demonstration_plan
from tests.records.inspection.plan_stage import (
    ACCEPTED,
    BEFORE,
    approved,
    first_print,
    issued,
    long_print,
    plan_pdf,
    use_paper,
)
from tests.safetyplan.printing.reading import pages, places, squeezed, text, tool

pytestmark = pytest.mark.django_db

PAPERS = ("A4", "letter")
SECTIONS = (
    "Contents",
    "Change log",
    "Product description: TF",
    "Flow diagram: TF",
    "Hazard analysis",
    "Determination of critical control points",
    "Control table: critical control points",
    "Control table: operational prerequisites",
    "Control table: monitored prerequisites",
    "Operating targets",
    "Figures confirmed one by one",
    "Regulatory profile",
    "Prerequisite programmes",
    "Verification schedule",
    "Validation",
    "Recall procedure",
    "Actions after a positive result",
    "Caution",
)
WORKSHEET = (
    "Step or ingredient",
    "Hazard: biological, chemical, physical, radiological; introduced, increased, controlled",
    "Significant?",
    "Justification: severity, likelihood, reason",
    "Control measure and its type",
    "CCP?",
)
DETERMINATION = ("Step", "Hazard", "Decision tree", "Questions and answers", "Result of the tree", "Choice")
CONTROL_TABLE = (
    "Critical control point",
    "Hazard",
    "Critical limit",
    "Monitoring: what",
    "Monitoring: how",
    "Monitoring: frequency",
    "Monitoring: who",
    "Corrective action",
    "Verification",
    "Records",
)
TABLES = (
    ("Hazard analysis", "Determination of", WORKSHEET),
    ("Determination of critical control points", "Control table: critical", DETERMINATION),
    ("Control table: critical control points", "Control table: operational", CONTROL_TABLE),
)


def with_pdftotext(pdf: bytes, folder: Path) -> str:
    """Read a PDF with a program of others (poppler)."""
    path = folder / "plan.pdf"
    path.write_bytes(pdf)
    done = subprocess.run([tool("pdftotext"), path, "-"], capture_output=True, check=True)
    return done.stdout.decode()


def flat(pdf: bytes) -> str:
    return " ".join(text(pdf).split())


def test_the_sections_stand_in_the_order_in_which_they_are_asked_for(working: Cast) -> None:
    found = flat(first_print(working))
    after_contents = found.index("Actions after a positive result") + 1
    places_of = [found.index(section, 0 if section == "Contents" else after_contents) for section in SECTIONS]
    assert places_of[1:] == sorted(places_of[1:])
    assert places_of[0] < places_of[1]


def test_the_contents_name_the_page_of_each_section(working: Cast) -> None:
    shown = pages(first_print(working))
    first = " ".join(shown[0].split())
    for number, page in enumerate(shown[1:], start=2):
        for heading in ("6 Hazard analysis", "17 Recall procedure"):
            if heading in " ".join(page.split()):
                assert f"{heading} {number}" in first


def test_the_file_has_a_bookmark_for_each_section(working: Cast) -> None:
    outline: list[Any] = PdfReader(BytesIO(first_print(working))).outline
    assert [entry.title for entry in outline][:2] == [
        "1  Change log",
        "2  Product description: TF Tarrow Fresh",
    ]


def test_the_cover_says_who_prepared_and_signed_it_when_and_why(working: Cast) -> None:
    with at(working.dairy, hours(0.2)):
        approved(working, demonstration_plan(), reason="New thermometer")
    first = " ".join(pages(plan_pdf(working, 2))[0].split())
    for said in (
        "Prepared or overseen by (qualified individual)",
        "Owner Person",
        "Approves the food-safety plan",
        "Responsible person",
        "password again",
        "Great Britain",
        "New thermometer",
        f"Reason for accepting them: {ACCEPTED}",
    ):
        assert squeezed(said) in squeezed(first), said


def test_the_warnings_accepted_with_the_approval_are_listed(cast: Cast) -> None:
    plan = demonstration_plan()
    plan["validations"] = [v for v in plan["validations"] if "CCP2" not in v["controls"]]
    with at(cast.dairy, BEFORE):
        approved(cast, plan)
    first = " ".join(pages(plan_pdf(cast))[0].split())
    assert "P037 CCP2" in first


def test_every_page_carries_form_version_issue_date_and_what_it_supersedes(working: Cast) -> None:
    with at(working.dairy, hours(0.2)):
        approved(working, demonstration_plan())
    shown = pages(plan_pdf(working, 2))
    for number, page in enumerate(shown, start=1):
        words = " ".join(page.split())
        for said in (
            "Near Test Dairy",
            "1 Test Lane, Testford",
            "Food-safety plan",
            "TG-1",
            "plan version 2",
            "2026-05-14",
            "version 1",
            f"page {number} of {len(shown)}",
        ):
            assert said in words, (number, said)


def test_one_changed_limit_reads_as_one_sentence_in_the_change_log(working: Cast) -> None:
    plan = demonstration_plan()
    acid = next(control for control in plan["controls"] if control["code"] == "CCP2")
    acid["limit"]["points"][0]["limit"] = "4.55"
    with at(working.dairy, hours(0.2)):
        approved(working, plan)
    found = flat(plan_pdf(working, 2))
    changed = found[found.index("Changed from version 1") :]
    assert "4.60" in changed[:600]
    assert "4.55" in changed[:600]
    assert "2 Product description" in changed[:600]


def test_the_flow_diagram_carries_the_confirmation_on_site(working: Cast) -> None:
    with at(working.dairy, hours(0.5)):
        confirm_again(working)
    found = flat(plan_pdf(working))
    start = found.index("Flow diagram: TF Tarrow Fresh", found.index("Product description: TL", 2000))
    shown = found[start : found.index("Flow diagram: TL", start)]
    for said in (
        "1. Milk receipt",
        "5. Acidification",
        "CCP1",
        "Confirmed on site: Walked once more",
        "Confirms on site that the product is made as its flow diagram says",
    ):
        assert said in shown, said


def test_each_figure_says_who_confirmed_it_on_what_and_whether_it_is_validated(cast: Cast) -> None:
    plan = demonstration_plan()
    plan["validations"] = [v for v in plan["validations"] if "CCP2" not in v["controls"]]
    with at(cast.dairy, BEFORE):
        approved(cast, plan)
    found = flat(plan_pdf(cast))
    by = "igures confirmed by Owner Person on The text itself, read that day, 2026-05-13, "
    assert f"{by}not validated" in found
    assert f"{by}validated: 63 °C for 30 min" in found


def test_a_hazard_controlled_later_or_by_a_prerequisite_says_where(working: Cast) -> None:
    found = flat(first_print(working))
    assert "no controlled at a later step: 2. Heat treatment CCP1 Heat treatment" in found
    assert "no controlled by a prerequisite PR-MILK Milk and herd" in found
    assert "YES CCP2 Acid at 24 hours" in found


def test_each_answer_of_a_decision_tree_is_printed_with_its_question_and_result(working: Cast) -> None:
    found = flat(first_print(working))
    assert "Q2 Is there a specific control measure for the hazard at this step? YES" in found
    assert "This step is a critical control point." in found


def test_a_parameter_of_the_profile_that_was_changed_prints_its_reason(cast: Cast) -> None:
    plan = demonstration_plan()
    changed = next(p for p in plan["profile"]["parameters"] if p["code"] == "review_days")
    changed |= {"value": "5", "reason": "We meet every Friday"}
    with at(cast.dairy, BEFORE):
        approved(cast, plan)
    found = flat(plan_pdf(cast))
    assert "We meet every Friday" in found
    assert "as read on" in found


@pytest.mark.parametrize("paper", PAPERS)
def test_a_long_plan_keeps_the_last_word_of_every_note(cast: Cast, paper: str) -> None:
    printed = long_print(cast, paper)
    found = squeezed(" ".join(printed.pages))
    assert [ending for ending in printed.endings if ending not in found] == []
    assert len(printed.endings) > 200


@pytest.mark.parametrize("paper", PAPERS)
def test_poppler_reads_every_column_and_every_last_word_of_a_long_plan(
    cast: Cast, paper: str, tmp_path: Path
) -> None:
    printed = long_print(cast, paper)
    found = squeezed(with_pdftotext(printed.pdf, tmp_path))
    columns = {*WORKSHEET, *DETERMINATION, *CONTROL_TABLE}
    assert [title for title in columns if squeezed(title) not in found] == []
    assert [ending for ending in printed.endings if ending not in found] == []


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(("section", "following", "columns"), TABLES)
def test_the_head_of_a_table_stands_on_each_of_its_pages(
    cast: Cast, paper: str, section: str, following: str, columns: tuple[str, ...]
) -> None:
    printed = long_print(cast, paper)
    start, end = printed.first_page_of(section), printed.first_page_of(following)
    assert end - start > 1
    for page in printed.pages[start:end]:
        found = squeezed(page)
        assert [title for title in columns if squeezed(title) not in found] == []


@pytest.mark.parametrize("paper", PAPERS)
def test_wide_tables_lie_in_landscape_and_nothing_is_drawn_beyond_the_paper(cast: Cast, paper: str) -> None:
    printed = long_print(cast, paper)
    reader = PdfReader(BytesIO(printed.pdf))
    sizes = [(float(page.mediabox.width), float(page.mediabox.height)) for page in reader.pages]
    assert sizes[printed.first_page_of("Hazard analysis")][0] > sizes[0][0]
    for number in range(0, len(sizes), 7):
        width, height = sizes[number]
        for words, x, y, size in places(printed.pdf, number):
            end = x + typeset.text_width(typeset.printable(words.replace("\n", " ")), size)
            assert x > 0
            assert end < width - 20
            assert 20 < y < height - 10


def test_the_same_issue_gives_the_same_bytes(working: Cast) -> None:
    issue = issued(working, "plan", "1")
    assert render_issue(issue) == kept_bytes(issue)


def test_nothing_recorded_later_changes_an_earlier_issue(
    working: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    issue = issued(working, "plan", "1")
    sheet = issued(working, "sheet", "1/CCP1", hours(1.1))
    before = kept_bytes(issue), kept_bytes(sheet)
    with at(working.dairy, hours(30)):
        confirm_again(working)
        approved(working, demonstration_plan(), reason="Second version")
        use_paper(working, "letter")
    for module in (queries, services):
        monkeypatch.setattr(module, "zone_of", lambda _establishment: ZoneInfo("Asia/Tokyo"))
    assert (render_issue(issue), render_issue(sheet)) == before
    monkeypatch.undo()
    fresh = flat(kept_bytes(issued(working, "plan", "1", hours(31))))
    assert "Another edition of the text" in fresh
    assert "Another edition of the text" not in flat(before[0])


def confirm_again(cast: Cast) -> None:
    """Confirm a limit and a flow once more, as they stand."""
    plan = plan_services.versions(cast.dairy).get(number=1).plan()
    figure = figures(plan)[0]
    confirm_figure(
        establishment=cast.dairy,
        by=cast.owner,
        what=figure.what,
        value=figure.value,
        source="Another edition of the text",
    )
    product = plan.products[0]
    confirm_flow(
        establishment=cast.dairy,
        proof=cast.proof(cast.owner),
        product=product.code,
        value=flow_value(product),
        note="Walked once more",
    )


def test_a_print_of_an_older_version_lists_no_later_one(working: Cast) -> None:
    with at(working.dairy, hours(0.2)):
        approved(working, demonstration_plan(), reason="Second version")
    assert "Second version" not in flat(plan_pdf(working, 1))
    assert "Second version" in flat(plan_pdf(working, 2))


def test_a_version_of_the_first_form_still_prints(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = demonstration_plan()
    kept = ("title", "form_number", "language", "late_after_minutes", "release_role", "products", "controls")
    hazards = [
        {key: hazard[key] for key in (
            "code", "products", "step", "kind", "name", "significant", "reason", "removed_by_reheating",
            "controlled_by",
        )}
        for hazard in plan["hazards"]
    ]  # fmt: skip
    monkeypatch.setattr(plan_services.plan_check, "check", lambda *_given: [])
    with at(cast.dairy, BEFORE):
        approved(cast, {"schema": 1, "hazards": hazards, **{key: plan[key] for key in kept}})
    found = flat(plan_pdf(cast))
    assert "The plan follows no regulatory profile." in found
    assert "Not walked through a decision tree." in found


@pytest.mark.parametrize("subject", ["2", "one", "", "1/CCP1", "-1", "9" * 30])
def test_a_version_that_is_not_there_is_not_printed(working: Cast, subject: str) -> None:
    with pytest.raises(BadInput, match="There is no such version of the plan to print"):
        issued(working, "plan", subject)
    assert PrintIssue.objects.of(working.dairy).count() == 0


def test_an_inspector_issues_no_print_of_the_plan(working: Cast) -> None:
    with at(working.dairy, hours(1)), pytest.raises(NotAllowed):
        issue_print(establishment=working.dairy, by=working.inspector, what="plan", subject="1")


def test_no_word_of_a_print_promises_what_only_people_can_judge(working: Cast) -> None:
    words = flat(first_print(working)).lower().replace("food-safety", "")
    assert "safe" not in words
