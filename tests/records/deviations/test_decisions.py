"""Evaluation, disposition, cause, recall: who may, in which order, and what is refused."""

import pytest

from records.deviations.affected import disposed_of
from records.deviations.disposing import Line, dispose
from records.deviations.models import CauseFound, Disposition, Evaluation, RecallDecision
from records.signoff.release import record_left_on_hold
from tests.builders import an_event, at, hours
from tests.cast import Cast
from tests.records.deviations.stage import CAUSE, EVALUATED, Stage, cold_vat, signature, slow_vat
from tests.remembering import told_again
from tests.web import text_of


@pytest.fixture
def stage(working: Cast) -> Stage:
    """Make a slow vat that is not on hold yet."""
    return told_again("slow vat", lambda: slow_vat(working))


@pytest.fixture
def evaluated(stage: Stage) -> Stage:
    """Bring the slow vat to where a disposition may be signed."""
    stage.hold()
    stage.evaluate()
    return stage


def left_on_hold(stage: Stage) -> Stage:
    """Let pieces of the lot leave although it is on hold."""
    with at(stage.dairy, hours(27)):
        an_event(stage.cast, stage.lot, "packed", hours(26.9))
        _row, deviation = record_left_on_hold(
            establishment=stage.dairy,
            by=stage.cast.maker,
            lot=stage.lot,
            customer="Corner shop",
            pieces="12",
            mass_typed="1.4",
        )
    return Stage(stage.cast, stage.lot, deviation)


def test_an_evaluation_waits_for_the_hold(stage: Stage) -> None:
    refused = stage.post(stage.cast.owner, "evaluate", **EVALUATED)
    stage.hold()
    taken = stage.post(stage.cast.owner, "evaluate", **EVALUATED)

    assert refused.status_code == 409
    assert "Confirm the hold first" in text_of(refused)
    assert EVALUATED["text"] in text_of(refused)
    assert taken.status_code == 302
    assert Evaluation.objects.of(stage.dairy).count() == 1


@pytest.mark.parametrize("field", ["text", "evidence"])
def test_an_evaluation_needs_words_and_evidence(stage: Stage, field: str) -> None:
    stage.hold()

    answer = stage.post(stage.cast.owner, "evaluate", **{**EVALUATED, field: "x"})

    assert answer.status_code == 422
    assert "Give a reason (at least three letters)." in text_of(answer)
    assert not Evaluation.objects.of(stage.dairy).exists()


def test_a_disposition_waits_for_hold_and_evaluation(stage: Stage) -> None:
    typed = signature(pieces_release="280", mass_release="33.6", seen="0")

    without_hold = stage.post(stage.cast.owner, "dispose", **typed)
    stage.hold()
    without_evaluation = stage.post(stage.cast.owner, "dispose", **typed)
    stage.evaluate()
    taken = stage.post(stage.cast.owner, "dispose", **typed)

    assert without_hold.status_code == 409
    assert "Nothing is confirmed on hold" in text_of(without_hold)
    assert 'value="280"' in text_of(without_hold)
    assert without_evaluation.status_code == 409
    assert "The product was not evaluated yet" in text_of(without_evaluation)
    assert taken.status_code == 302


@pytest.mark.parametrize(
    ("typed", "status", "message"),
    [
        ({}, 422, "Give the pieces and the weight of at least one line."),
        ({"pieces_release": "281", "mass_release": "33.7"}, 422, "281 pieces and 33.7 kg; on hold are 280"),
        ({"pieces_release": "280", "mass_release": "33.5"}, 422, "do not add up together"),
        ({"pieces_release": "abc"}, 422, "This is not a number."),
        ({"pieces_release": "1", "mass_release": "abc"}, 422, "This is not a number."),
        ({"pieces_release": "0", "mass_release": "0"}, 422, "Give the pieces and the weight of each line."),
        ({"pieces_rework": "5", "mass_rework": "0.6"}, 422, "Say whether the rework heats the product."),
        ({"pieces_release": "1", "mass_release": "0.1", "password": "wrong"}, 422, "Nothing was signed."),
        ({"pieces_release": "1", "mass_release": "0.1", "seen": "7"}, 409, "signed a disposition meanwhile"),
    ],
)
def test_a_disposition_that_cannot_be_signed_is_refused_and_what_was_typed_stays(
    evaluated: Stage, typed: dict[str, str], status: int, message: str
) -> None:
    answer = evaluated.post(evaluated.cast.owner, "dispose", **{**signature(seen="0"), **typed})

    page = text_of(answer)
    kept = [text for name, text in typed.items() if name not in ("password", "seen")]
    assert answer.status_code == status
    assert message in page
    assert all(f'value="{text}"' in page for text in kept)
    assert not Disposition.objects.of(evaluated.dairy).exists()


def test_a_password_is_never_sent_back(evaluated: Stage) -> None:
    answer = evaluated.post(
        evaluated.cast.owner, "dispose", password="my-secret-words", pieces_release="1", seen="0"
    )

    assert answer.status_code == 422
    assert "my-secret-words" not in text_of(answer)


def test_held_goods_are_disposed_of_in_parts_until_the_pieces_add_up(evaluated: Stage) -> None:
    first = evaluated.post(
        evaluated.cast.owner, "dispose", **signature(seen="0", pieces_destroy="10", mass_destroy="1.2")
    )
    between = text_of(evaluated.get(evaluated.cast.owner))
    second = evaluated.post(
        evaluated.cast.owner,
        "dispose",
        **signature(
            seen="1",
            pieces_release="262",
            mass_release="31.4",
            pieces_used_for_test="8",
            mass_used_for_test="1.0",
        ),
    )

    signed = list(Disposition.objects.of(evaluated.dairy))
    assert first.status_code == 302
    assert "270 pieces, 32.4 kg" in between
    assert second.status_code == 302
    assert disposed_of(signed, ["release", "destroy", "used_for_test"]).pieces == 280
    assert "Everything on hold is disposed of." in text_of(evaluated.get(evaluated.cast.owner))


def test_a_disposition_sent_twice_is_signed_once(evaluated: Stage) -> None:
    typed = signature(seen="0", pieces_destroy="10", mass_destroy="1.2")

    answers = [evaluated.post(evaluated.cast.owner, "dispose", **typed) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Disposition.objects.of(evaluated.dairy).count() == 1


def test_what_somebody_else_signed_meanwhile_is_not_overlooked(evaluated: Stage) -> None:
    with at(evaluated.dairy, hours(27)):
        dispose(
            establishment=evaluated.dairy,
            proof=evaluated.cast.proof(evaluated.cast.owner),
            deviation=evaluated.deviation,
            lines=[Line("destroy", "10", "1.2")],
        )

    answer = evaluated.post(
        evaluated.cast.owner, "dispose", **signature(seen="0", pieces_release="20", mass_release="2.4")
    )

    assert answer.status_code == 409
    assert "Somebody signed a disposition meanwhile" in text_of(answer)
    assert Disposition.objects.of(evaluated.dairy).count() == 1


def test_a_slow_vat_is_never_reworked_by_heat(evaluated: Stage) -> None:
    typed = signature(seen="0", pieces_rework="280", mass_rework="33.6")

    by_heat = evaluated.post(evaluated.cast.owner, "dispose", **typed, rework_method="heat")
    otherwise = evaluated.post(evaluated.cast.owner, "dispose", **typed, rework_method="other")

    assert by_heat.status_code == 409
    assert "heating does not remove toxin formed in a slow vat" in text_of(by_heat)
    assert 'value="280"' in text_of(by_heat)
    assert otherwise.status_code == 302


def test_milk_not_heated_enough_may_be_heated_again(working: Cast) -> None:
    stage = cold_vat(working)
    stage.hold()
    stage.evaluate()

    answer = stage.post(
        working.owner,
        "dispose",
        **signature(seen="0", pieces_rework="280", mass_rework="33.6"),
        rework_method="heat",
    )

    assert answer.status_code == 302
    assert "rework by heat" in text_of(stage.get(working.owner))


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"cause": ""}, "Give a reason (at least three letters)."),
        ({"prevention": "?"}, "Give a reason (at least three letters)."),
        ({"under_control": ""}, "Give a reason (at least three letters)."),
        ({"reanalysis": ""}, "Choose yes or no."),
        ({"reanalysis_reason": ""}, "Give a reason (at least three letters)."),
    ],
)
def test_cause_and_prevention_are_asked_for_whole(
    stage: Stage, changed: dict[str, str], message: str
) -> None:
    typed = {**CAUSE, **changed}

    answer = stage.post(stage.cast.maker, "cause", **typed)

    page = text_of(answer)
    assert answer.status_code == 422
    assert message in page
    assert all(text in page for name, text in typed.items() if name != "reanalysis")
    assert not CauseFound.objects.of(stage.dairy).exists()
    assert stage.post(stage.cast.maker, "cause", **CAUSE).status_code == 302


def test_goods_that_left_on_hold_ask_for_a_recall_decision(stage: Stage) -> None:
    left = left_on_hold(stage)
    page = text_of(left.get(stage.cast.owner))

    undecided = left.post(stage.cast.owner, "recall", **signature(recall="", why="All pieces are back"))
    without_reason = left.post(stage.cast.owner, "recall", **signature(recall="yes", why=""))
    decided = left.post(stage.cast.owner, "recall", **signature(recall="yes", why="Toxin not ruled out"))

    assert "Recall decision" in page
    assert "no recall decision" in page
    assert undecided.status_code == 422
    assert "Choose yes or no." in text_of(undecided)
    assert "All pieces are back" in text_of(undecided)
    assert without_reason.status_code == 422
    assert decided.status_code == 302
    assert RecallDecision.objects.of(stage.dairy).get().recall is True


def test_a_recall_is_decided_once(stage: Stage) -> None:
    left = left_on_hold(stage)
    typed = signature(recall="no", why="All pieces are back")

    answers = [left.post(stage.cast.owner, "recall", **typed) for _again in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert RecallDecision.objects.of(stage.dairy).count() == 1
