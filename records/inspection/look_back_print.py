"""A look-back on paper: each reading a failed instrument made not valid, and what it would have been."""

from django.utils.translation import gettext as _

from records.checks import looked_back
from records.deviations.queries import DeviationState
from records.inspection.frame import Frame
from records.inspection.words import state_word
from safetyplan.printing.document import Block, Cell, Column, Grid, Row, Text


def looked_back_blocks(frame: Frame, state: DeviationState) -> list[Block]:
    """Give the readings class by class with the recomputed values, and the checks of the instrument."""
    pk = state.deviation.pk
    rows = looked_back.readings_of(frame.establishment, [pk], frame.as_of)[pk]
    if not rows:
        return []
    blocks: list[Block] = [
        Text(
            _(
                "Recomputed values are evidence for the person who evaluates. They acquit nothing: every "
                "reading below counts as not valid."
            )
        )
    ]
    for words, chosen in looked_back.by_rank(rows):
        blocks += [Text(words, "strong"), _grid(frame, chosen)]
    for check in looked_back.checks_around(frame.establishment, rows, frame.as_of):
        told = {
            "code": check.instrument.code,
            "at": frame.time(check.checked_at),
            "said": f"{check.sentence_text} {check.left_sentence_text}".strip(),
            "entered": frame.time(check.recorded_at),
        }
        blocks.append(Text(_("Check of %(code)s, %(at)s: %(said)s Entered %(entered)s.") % told, "small"))
    return blocks


def _grid(frame: Frame, rows: list[looked_back.Row]) -> Grid:
    columns = (
        Column(_("Measured"), share=14),
        Column(_("Check"), share=18),
        Column(_("Lot"), share=13),
        Column(_("Read"), share=11),
        Column(_("Recomputed"), share=12),
        Column(_("That would be"), share=26),
        Column(_("Result"), share=16),
    )
    return Grid(
        columns,
        tuple(
            Row(
                (
                    Cell(frame.time(row.reading.observed_at)),
                    Cell(f"{row.reading.control} {row.reading.control_name}"),
                    Cell(row.reading.lot.code if row.reading.lot else "–"),
                    Cell(looked_back.read_words(row.reading), struck=row.replaced),
                    Cell(looked_back.recomputed_words(row) or "–", strong=True),
                    Cell(row.would_text or "–"),
                    Cell(_("set aside as a recording error") if row.acquitted else state_word(row.state)),
                )
            )
            for row in rows
        ),
    )
