"""Gathers the models of the records for Django."""

from records.batches.models import Dispatch, Lot, LotEvent, PlanApplied
from records.checks.models import CheckExplained, Reading, Rejudged, RejudgedByPlan
from records.deviations.models import (
    ActionTaken,
    CalculationAttached,
    CauseFound,
    Closure,
    Deviation,
    Disposition,
    Evaluation,
    FileAttached,
    HoldConfirmed,
    RecallDecision,
)
from records.inspection.models import PrintIssue, PrintKept
from records.instruments.models import Instrument, InstrumentCheck
from records.signoff.models import DaySigned, LotRelease, NoProductionDay
from records.things.models import Thing, ThingChange, ThingEnded, ThingUse

__all__ = [
    "ActionTaken",
    "CalculationAttached",
    "CauseFound",
    "CheckExplained",
    "Closure",
    "DaySigned",
    "Deviation",
    "Dispatch",
    "Disposition",
    "Evaluation",
    "FileAttached",
    "HoldConfirmed",
    "Instrument",
    "InstrumentCheck",
    "Lot",
    "LotEvent",
    "LotRelease",
    "NoProductionDay",
    "PlanApplied",
    "PrintIssue",
    "PrintKept",
    "Reading",
    "RecallDecision",
    "Rejudged",
    "RejudgedByPlan",
    "Thing",
    "ThingChange",
    "ThingEnded",
    "ThingUse",
]
