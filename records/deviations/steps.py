"""What each form of a deviation's page does: typed text into the services."""

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, cast
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import HttpRequest
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as lazy

from records.batches.models import Lot
from records.batches.queries import lots
from records.deviations import disposing, services
from records.deviations.affected import lines_of
from records.deviations.closing import close_deviation
from records.deviations.files import attach_file
from records.deviations.forms import UNITS
from records.deviations.models import Deviation, Outcome
from records.deviations.page import control_of
from records.deviations.queries import DeviationState, state_of
from safetyplan.calculation.times import parse_local
from safetyplan.establishments.models import Establishment, Person
from safetyplan.establishments.queries import zone_of
from safetyplan.integrity import clock, ledger
from safetyplan.integrity.files import LARGEST
from safetyplan.integrity.form_claims import already_recorded, form_claim, form_uuid
from safetyplan.integrity.form_refusals import Typed, taking_offers
from safetyplan.integrity.ledger import Claim
from safetyplan.integrity.models import SignatureProof
from safetyplan.integrity.refusals import BadInput, Refused
from safetyplan.integrity.signatures import prove
from safetyplan.integrity.typed_values import in_words, mass, volume, whole_number

Act = Callable[["Work", Typed], object]


@dataclass(frozen=True)
class Work:
    """One submitted form of one deviation."""

    request: HttpRequest
    establishment: Establishment
    deviation: Deviation

    @property
    def person(self) -> Person:
        """Give the person who is signed in."""
        return cast(Person, self.request.user)

    def state(self) -> DeviationState:
        """Give what is recorded about the deviation."""
        return state_of(self.establishment, self.deviation)

    def common(self) -> dict[str, Any]:
        """Give what every unsigned service is told."""
        return {"establishment": self.establishment, "by": self.person, "deviation": self.deviation}

    def signed(self) -> dict[str, Any]:
        """Give what every signed service is told: a proof from the password typed again."""
        return {
            "establishment": self.establishment,
            "proof": self.proof(),
            "deviation": self.deviation,
        }

    def proof(self) -> SignatureProof:
        """Check the password typed with the form."""
        password = self.request.POST.get("password", "")
        return prove(establishment=self.establishment, person=self.person, password=password)

    def claim(self, kind: str, typed: Typed) -> Claim:
        """Make the claim of this form."""
        content = {key: text for key, text in typed.items() if not key.endswith("_offer")}
        return form_claim(self.request, self.establishment, kind, {"deviation": self.deviation.pk, **content})

    def moment(self, typed: Typed, *, confirmed: bool) -> datetime | None:
        """Read the date and time typed; None when neither was."""
        day, time = typed.get("done_date", ""), typed.get("done_time", "")
        if not (day.strip() or time.strip()):
            return None
        fold = typed.get("done_time_fold", "")
        with in_words("done_time"):
            return parse_local(
                day,
                time,
                zone_of(self.establishment),
                now=clock.now(self.establishment),
                fold=int(fold) if fold in ("0", "1") else None,
                confirmed=confirmed,
            )


def yes(typed: Typed, name: str) -> bool:
    """Read a choice of yes or no; nothing chosen is refused."""
    if typed.get(name) not in ("yes", "no"):
        raise BadInput(_("Choose yes or no."), part=name)
    return typed[name] == "yes"


def lot_of(work: Work, typed: Typed) -> Lot | None:
    """Give the lot that a form is about; None where it is asked for no lot."""
    key, state = typed.get("lot", ""), work.state()
    if not key and len(state.affected) > 1:
        raise BadInput(_("Choose the lot."), part="lot")
    found = next((one for one in state.affected if not key or one.key == key), None)
    if found is None:
        raise BadInput(_("The deviation does not concern this lot."), part="lot")
    return found.lot


def affected(work: Work, typed: Typed) -> object:
    """Name a further lot that the deviation concerns."""
    key = typed.get("lot", "")
    found = lots(work.establishment).filter(pk=UUID(key)).first() if key else None
    if found is None:
        raise BadInput(_("Choose the lot."), part="lot")
    claim = work.claim("affected_lot", typed)
    return services.add_affected_lot(**work.common(), lot=found, why=typed.get("why", ""), claim=claim)


def hold(work: Work, typed: Typed) -> object:
    """Confirm the hold."""
    why = typed.get("why", "")
    return services.confirm_hold(
        **work.common(),
        lot=lot_of(work, typed),
        volume_typed=typed.get("volume", ""),
        place=typed.get("place", ""),
        tag=typed.get("tag", ""),
        pieces=typed.get("pieces", ""),
        mass_typed=typed.get("mass", ""),
        held_at=work.moment(typed, confirmed=bool(why.strip())),
        why=why,
        claim=work.claim("hold_confirmed", typed),
    )


def action(work: Work, typed: Typed) -> object:
    """Record a corrective action: a planned one by its code, else in the person's words."""
    code, text = typed.get("action_code", ""), typed.get("text", "")
    if code:
        control = control_of(work.establishment, work.deviation)
        planned = dict(control.corrective_actions) if control else {}
        if code not in planned:
            raise BadInput(_("The plan has no such corrective action."), part="text")
        text = planned[code]
    return services.take_action(
        **work.common(),
        text=text,
        action_code=code,
        done_at=work.moment(typed, confirmed=bool(text.strip())),
        claim=work.claim("action_taken", typed),
    )


def evaluate(work: Work, typed: Typed) -> object:
    """Record the evaluation."""
    return services.evaluate(
        **work.common(),
        text=typed.get("text", ""),
        evidence=typed.get("evidence", ""),
        claim=work.claim("evaluation", typed),
    )


def cause(work: Work, typed: Typed) -> object:
    """Record cause and prevention."""
    return services.find_cause(
        **work.common(),
        cause=typed.get("cause", ""),
        prevention=typed.get("prevention", ""),
        under_control=typed.get("under_control", ""),
        reanalysis=yes(typed, "reanalysis"),
        reanalysis_reason=typed.get("reanalysis_reason", ""),
        claim=work.claim("cause_found", typed),
    )


def recall(work: Work, typed: Typed) -> object:
    """Sign the recall decision; sent twice, it is signed once."""
    state = work.state()
    decided = state.recall
    if decided is not None and decided.author_id == work.person.pk and not state.recall_missing:
        return None
    return services.decide_recall(**work.signed(), recall=yes(typed, "recall"), why=typed.get("why", ""))


def close(work: Work, typed: Typed) -> object:
    """Sign the closure; sent twice, it is signed once."""
    how = typed.get("how", "")
    if how not in ("completed", "recording_error"):
        raise BadInput(_("Choose how the deviation ends."), part="how")
    closed = work.state().closure
    if closed is not None and closed.author_id == work.person.pk:
        return None
    return close_deviation(
        **work.signed(), recording_error=how == "recording_error", why=typed.get("why", "")
    )


def attach(work: Work, typed: Typed) -> object:
    """Attach a document; the same document twice is kept once."""
    upload = work.request.FILES.get("file")
    if not isinstance(upload, UploadedFile):
        raise BadInput(_("Choose a file."), part="file")
    content = upload.read(LARGEST + 1)
    digest = hashlib.sha256(content).hexdigest()
    if any(kept.sha256 == digest for kept in work.state().files):
        return None
    return attach_file(**work.common(), name=upload.name or "", content=content)


def typed_lines(typed: Typed) -> list[tuple[Outcome, disposing.Line]]:
    """Give the lines of a disposition in which something was typed."""
    found = []
    for outcome in Outcome:
        pieces = typed.get(f"pieces_{outcome}", "").strip()
        weight = typed.get(f"mass_{outcome}", "").strip()
        litres = typed.get(f"volume_{outcome}", "").strip()
        if pieces or weight or litres:
            method = typed.get("rework_method", "") if outcome == Outcome.REWORK else ""
            found.append((outcome, disposing.Line(outcome, pieces, weight, method, volume=litres)))
    return found


def dispose(work: Work, typed: Typed) -> object:
    """Sign a disposition of what the person saw on hold; sent twice, it is signed once."""
    lines = typed_lines(typed)
    if not lines:
        raise BadInput(_("Give the pieces and the weight of at least one line."), part="lines")
    state = work.state()
    if str(len(state.dispositions)) != typed.get("seen"):
        if _sent_twice(work, state, lines, lot_of(work, typed)):
            return None
        raise Refused(_("Somebody signed a disposition meanwhile. Look at what is left, then sign again."))
    return _signed_lines(work, lines, lot_of(work, typed), typed.get("note", ""))


def _signed_lines(
    work: Work, lines: list[tuple[Outcome, disposing.Line]], lot: Lot | None, note: str
) -> object:
    chosen = [line for _outcome, line in lines]
    try:
        return disposing.dispose(**work.signed(), lines=chosen, lot=lot, note=note)
    except Refused as refusal:
        for number, (outcome, line) in enumerate(lines, start=1):
            if refusal.part == f"line{number}":
                refusal.part = _field_of(outcome, line)
        raise


def _field_of(outcome: Outcome, line: disposing.Line) -> str:
    """Name the field that a refused line's message stands at."""
    try:
        whole_number(line.pieces or "0", part="pieces")
        mass(line.mass, part="mass")
        volume(line.volume, part="volume")
    except BadInput as refusal:
        return f"{refusal.part}_{outcome}"
    return "rework_method" if outcome == Outcome.REWORK else f"pieces_{outcome}"


def _sent_twice(
    work: Work, state: DeviationState, lines: list[tuple[Outcome, disposing.Line]], lot: Lot | None
) -> bool:
    newest = state.dispositions[-1] if state.dispositions else None
    if newest is None or newest.author_id != work.person.pk or newest.lot_id != (lot.pk if lot else None):
        return False
    signed = [(line["outcome"], str(line["pieces"])) for line in lines_of(newest)]
    return signed == [(str(outcome), line.pieces or "0") for outcome, line in lines]


@dataclass(frozen=True)
class Task:
    """One form of the page: what it does, the message when done, the fields of refused parts."""

    act: Act
    done: Promise
    fields: Mapping[str, str] = field(default_factory=dict)
    claimed: bool = False


TASKS: Mapping[str, Task] = {
    "lot": Task(affected, lazy("The lot is named: it goes on hold too."), {"reason": "why"}, claimed=True),
    "hold": Task(
        hold,
        lazy("The hold is confirmed."),
        {"held_at": "done_time", "late_reason": "why", "reason": "why"},
        claimed=True,
    ),
    "action": Task(action, lazy("The action is recorded."), {"done_at": "done_time"}, claimed=True),
    "evaluate": Task(evaluate, lazy("The evaluation is recorded."), claimed=True),
    "cause": Task(cause, lazy("Cause and prevention are recorded."), claimed=True),
    "dispose": Task(dispose, lazy("The disposition is signed.")),
    "recall": Task(recall, lazy("The recall decision is signed."), {"reason": "why"}),
    "close": Task(close, lazy("The deviation is closed."), {"reason": "why"}),
    "attach": Task(attach, lazy("The document is attached.")),
}


def carry_out(work: Work, name: str, typed: Typed) -> None:
    """Do what a form asks, once: a second submit of the same form changes nothing."""
    task = TASKS[name]
    with transaction.atomic():
        ledger.lock(work.establishment)
        if task.claimed and already_recorded(work.establishment, form_uuid(work.request)):
            return
        taking_offers(
            typed, lambda current: task.act(work, current), fields=task.fields, units=units_of_fields()
        )


def units_of_fields() -> dict[str, str]:
    """Give the unit of each field that takes a number."""
    names = [f"{name}_{outcome}" for name in UNITS for outcome in Outcome]
    return {**UNITS, **{name: UNITS[name.split("_", 1)[0]] for name in names}}
