"""What follows when a limit changes: its source, its confirmation, when its check is due."""

from tests.cast import Cast
from tests.safetyplan.plans.editing.controls_stage import OPEN, control_of, plan_with, said, sent
from tests.safetyplan.plans.stage import confirmed, get, url, write
from tests.web import text_of


def test_a_changed_figure_counts_as_chosen_here_and_loses_its_confirmation(cast: Cast) -> None:
    confirmed(cast, plan_with("CCP1", provenance="read"))
    assert "This limit is confirmed as it stands." in text_of(get(cast, cast.owner, "plan_limit", "CCP1"))

    page = said(sent(cast, "CCP1", product_at_least="63.5"))

    assert control_of(cast, "CCP1")["provenance"] == "own"
    assert "The figure is now your own" in page
    assert "That does not hold for the new one: confirm it." in page
    assert "It must be signed again." in page
    assert "This limit is confirmed" not in text_of(get(cast, cast.owner, "plan_limit", "CCP1"))


def test_a_changed_target_leaves_the_figure_confirmed_but_not_the_table_of_targets(cast: Cast) -> None:
    confirmed(cast, plan_with("CCP1", provenance="read"))

    page = said(sent(cast, "CCP1", product_target="65"))

    assert control_of(cast, "CCP1")["provenance"] == "read"
    assert "It must be signed again." in page
    assert "confirm it." not in page


def test_a_changed_figure_with_its_new_source_keeps_how_it_is_known(cast: Cast) -> None:
    write(cast, plan_with("CCP1", provenance="read"))

    sent(cast, "CCP1", product_at_least="63.5", figure_source="Another table, page 4")

    assert control_of(cast, "CCP1")["provenance"] == "read"


def test_a_limit_that_names_its_times_takes_over_when_the_check_is_due(cast: Cast) -> None:
    write(cast)
    figures = {"points-0-hours": "6", "points-0-limit": "30", "points-0-window_before_minutes": "60"}

    answer = sent(cast, "CCP1", query="?kind=reached_by", event="starter_added", tolerance="0.5", **figures)

    assert answer.status_code == 302
    assert control_of(cast, "CCP1")["monitoring"]["when"] == {"kind": "limit_points"}
    assert "due at the times the limit names" in said(answer)


def test_a_limit_that_no_longer_does_leaves_the_check_at_its_first_time_to_be_looked_at(cast: Cast) -> None:
    write(cast)

    answer = sent(cast, "CCP2", query="?kind=bound", at_most="4.6", tolerance="0.05")

    when = control_of(cast, "CCP2")["monitoring"]["when"]
    assert answer["Location"] == url(cast, "plan_control", "CCP2")
    assert (when["kind"], when["event"], when["after_minutes"]) == ("after_event", "starter_added", 1440)
    assert "look at it below" in said(answer)


def test_an_open_limit_that_is_set_is_ones_own_until_a_source_is_given(cast: Cast) -> None:
    write(cast, plan_with("OPRP2", limit=OPEN | {"suggests": "bound"}, provenance="memory", figure_source=""))

    first = said(sent(cast, "OPRP2", part="core", unit="degC", at_most="6", tolerance="0.5"))

    assert "The figure is now your own" in first
    assert control_of(cast, "OPRP2")["provenance"] == "own"


def test_a_limit_saved_as_it_was_says_nothing_and_stays_confirmed(cast: Cast) -> None:
    confirmed(cast)

    words = said(sent(cast, "CCP1"))

    assert words == "The limit of CCP1 is saved in the draft."
    assert "This limit is confirmed as it stands." in text_of(get(cast, cast.owner, "plan_limit", "CCP1"))


def test_a_limit_may_answer_to_a_figure_of_the_rules_and_to_none_again(cast: Cast) -> None:
    write(cast, plan_with("CCP1", parameter="heat_rule"))

    sent(cast, "CCP1", parameter="")
    assert "parameter" not in control_of(cast, "CCP1")

    sent(cast, "CCP1", parameter="heat_rule")
    assert control_of(cast, "CCP1")["parameter"] == "heat_rule"
