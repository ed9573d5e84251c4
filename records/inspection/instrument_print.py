"""The calibration record of an instrument, and the register of instruments, on paper."""

from collections.abc import Sequence
from uuid import UUID

from django.utils.translation import gettext as _

from records.inspection.frame import Frame
from records.inspection.plan_tables import table
from records.inspection.telling import joined
from records.instruments.measured import method_words
from records.instruments.models import Instrument, InstrumentCheck
from records.instruments.queries import Register, register_of
from records.instruments.standing import InstrumentState, calendar
from records.instruments.told import done_words, given_words, line_words, lines_of, state_word
from records.instruments.words import (
    PRINTED,
    SHOWN,
    by_when,
    drift_scene,
    error_words,
    facts,
    history,
    schedule_words,
    standing_word,
)
from safetyplan.plans.queries import in_force
from safetyplan.printing.document import (
    Block,
    Cell,
    Chart,
    Column,
    Document,
    Facts,
    Grid,
    Heading,
    KeepTogether,
    Row,
    RowState,
    Sideways,
    Text,
)
from safetyplan.words import name_words, sentence_case


def document(frame: Frame, subject: str) -> Document:
    """Compose the calibration record of an instrument as the issue sees it."""
    register = register_of(frame.establishment, frame.as_of)
    found = register.newest(UUID(subject))
    known = calendar(
        frame.establishment, frame.issue.recorded_at, frame.issue.recorded_at, frame.as_of, frame.clock
    )
    most = PRINTED if frame.form >= 3 else SHOWN
    checks, older = history(frame.establishment, register.keys(found.pk), frame.as_of, most)
    state = known.state(found.pk, frame.issue.recorded_at)
    scene = drift_scene(found, checks, frame.clock)
    standing = _("out of use") if found.retired else standing_word(state.standing)
    due = "" if found.retired else by_when(state)
    every = (Heading(_("Checks, the newest first"), 2), check_grid(frame, checks), *_left_off(frame, older))
    blocks: list[Block] = [
        Facts(((_("Stands"), joined((standing, due))), *facts(found))),
        *([Chart(scene, _("Error as found at each check."))] if scene is not None else []),
        Sideways(every),
        Heading(_("Entries in the register"), 2),
        entry_grid(frame, register, found),
        KeepTogether((Heading(_("Who is who"), 2), frame.key(), frame.caution())),
    ]
    title = _("Calibration record %(code)s %(name)s") % {"code": found.code, "name": found.name}
    return _document(frame, title, blocks)


def _left_off(frame: Frame, older: int) -> list[Block]:
    if not older or frame.form < 3:
        return []
    return [Text(_("%(count)d older checks are not on this print.") % {"count": older})]


def _document(frame: Frame, title: str, blocks: Sequence[Block]) -> Document:
    version = in_force(frame.establishment, frame.issue.recorded_at, frame.as_of)
    return Document(frame.head(title, version), frame.foot(), tuple(blocks), frame.paper, frame.language)


def check_grid(frame: Frame, checks: Sequence[InstrumentCheck]) -> Grid:
    """Give the checks with every reading, as found and as left; a corrected one is struck."""
    columns = (
        Column(_("Checked"), share=13),
        Column(_("Method, judged by"), share=24),
        Column(_("As found: readings"), share=24),
        Column(_("Error and result"), share=17),
        Column(_("Done"), share=9),
        Column(_("As left"), share=20),
        Column(_("By"), share=5),
        Column(_("Notes"), share=17),
    )
    replaced = {check.supersedes_id for check in checks}
    return Grid(columns, tuple(_row(frame, check, check.pk in replaced) for check in checks), size=7.5)


def _row(frame: Frame, check: InstrumentCheck, struck: bool) -> Row:
    judged = [method_words(check.method), *(f"{name}: {text}" for name, text in given_words(check))]
    found = "\n".join(line_words(line) for line in lines_of(check.found))
    result = f"{error_words(check.error_text, check.unit)}\n{state_word(check.passed)}"
    left = ""
    if check.adjusted:
        lines = [line_words(line) for line in lines_of(check.left)]
        left = "\n".join([*lines, state_word(check.left_passed)])
    corrected = _("correction: %(why)s") % {"why": check.reason} if check.supersedes_id else ""
    late = _("entered late: %(why)s") % {"why": check.late_reason} if check.late else ""
    state: RowState = "late" if check.late else ""
    return Row(
        (
            Cell(frame.time(check.checked_at), struck=struck),
            Cell("\n".join(judged)),
            Cell(found, struck=struck),
            Cell(result, struck=struck, strong=not struck),
            Cell(done_words(check)),
            Cell(left or "–", struck=struck and bool(left)),
            Cell(frame.initials(check.author_id)),
            Cell(joined((check.note, corrected, late)) or "–"),
        ),
        "corrected" if struck else state,
    )


def entry_grid(frame: Frame, register: Register, found: Instrument) -> Grid:
    """Give every entry of an instrument in the register, the newest first."""
    columns = (
        Column(_("Recorded"), share=16),
        Column(_("Entry"), share=42),
        Column(_("Why"), share=30),
        Column(_("By"), share=12),
    )
    rows = [
        (
            frame.time(row.recorded_at),
            joined((f"{row.code} {row.name}", _tolerance(row), schedule_words(row), _use(row))),
            row.reason or "",
            frame.initials(row.author_id),
        )
        for row in reversed(register.chains[register.root(found.pk)])
    ]
    return table(columns, rows, size=8)


def _tolerance(row: Instrument) -> str:
    return f"± {row.tolerance_text}" if row.tolerance_text else _("no tolerance")


def _use(row: Instrument) -> str:
    return _("out of use") if row.retired else ""


def register_document(frame: Frame) -> Document:
    """Compose the register of instruments as the issue sees it."""
    at = frame.issue.recorded_at
    known = calendar(frame.establishment, at, at, frame.as_of, frame.clock)
    newest = sorted((chain[-1] for chain in known.register.chains.values()), key=lambda row: row.code)
    using = [known.state(row.pk, at) for row in newest if not row.retired]
    retired = [row for row in newest if row.retired]
    blocks: list[Block] = [
        Sideways((Heading(_("In use"), 2), register_grid(frame, using))),
        Heading(_("Out of use"), 2),
        _retired(frame, retired),
        KeepTogether((Heading(_("Who is who"), 2), frame.key(), frame.caution())),
    ]
    return _document(frame, _("Register of instruments"), blocks)


def register_grid(frame: Frame, using: Sequence[InstrumentState]) -> Grid:
    """Give the instruments in use with where each stands."""
    columns = (
        Column(_("Code and name"), share=20, again=True),
        Column(_("Measures; range; smallest step"), share=20),
        Column(_("Maker, serial number, place"), share=22),
        Column(_("Tolerance"), share=11),
        Column(_("Schedule"), share=16),
        Column(_("Reference, certificate"), share=18),
        Column(_("Last check"), share=18),
        Column(_("Stands"), share=19),
    )
    return table(columns, [_register_row(frame, state) for state in using], size=7.5)


def _register_row(frame: Frame, state: InstrumentState) -> tuple[str, ...]:
    row = state.instrument
    said = dict(facts(row))
    last = _("never checked")
    if state.last is not None:
        last = f"{frame.time(state.last.checked_at)}\n{state_word(state.last.passed)}"
    return (
        f"{row.code}\n{row.name}",
        joined(
            (
                sentence_case(name_words(row.quantity)),
                said.get(_("Range"), ""),
                said.get(_("Smallest step it shows"), ""),
            )
        ),
        joined((row.maker or "", row.serial or "", row.place or "")),
        joined((_tolerance(row), said.get(_("Criterion for the electrode"), ""))),
        schedule_words(row),
        joined((said.get(_("Its reference"), ""), said.get(_("Certificate"), ""))),
        last,
        f"{standing_word(state.standing)}\n{by_when(state)}".strip(),
    )


def _retired(frame: Frame, retired: Sequence[Instrument]) -> Block:
    if not retired:
        return Text(_("None."))
    columns = (
        Column(_("Code and name"), share=34),
        Column(_("Out of use since"), share=20),
        Column(_("Why"), share=34),
        Column(_("By"), share=12),
    )
    rows = [
        (
            f"{row.code} {row.name}",
            frame.time(row.recorded_at),
            row.reason or "",
            frame.initials(row.author_id),
        )
        for row in retired
    ]
    return table(columns, rows, size=8)
