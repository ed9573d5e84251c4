"""Gathers the models of the records for Django."""

from records.batches.models import Dispatch, Lot, LotEvent, PlanApplied
from records.checks.models import CheckExplained, Reading, Rejudged, RejudgedByInstrument, RejudgedByPlan
from records.deviations.models import (
    ActionTaken,
    AffectedLot,
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
from records.receiving.models import (
    AuthorityNotice,
    Certificate,
    Herd,
    IngredientEnded,
    IngredientLot,
    LotMilk,
    MilkLoad,
    MilkRefused,
    Supplier,
    SupplierApproval,
    TreatedAnimal,
)
from records.signoff.models import DaySigned, LotRelease, NoProductionDay
from records.things.models import Thing, ThingChange, ThingEnded, ThingUse

__all__ = [
    "ActionTaken",
    "AffectedLot",
    "AuthorityNotice",
    "CalculationAttached",
    "CauseFound",
    "Certificate",
    "CheckExplained",
    "Closure",
    "DaySigned",
    "Deviation",
    "Dispatch",
    "Disposition",
    "Evaluation",
    "FileAttached",
    "Herd",
    "HoldConfirmed",
    "IngredientEnded",
    "IngredientLot",
    "Instrument",
    "InstrumentCheck",
    "Lot",
    "LotEvent",
    "LotMilk",
    "LotRelease",
    "MilkLoad",
    "MilkRefused",
    "NoProductionDay",
    "PlanApplied",
    "PrintIssue",
    "PrintKept",
    "Reading",
    "RecallDecision",
    "Rejudged",
    "RejudgedByInstrument",
    "RejudgedByPlan",
    "Supplier",
    "SupplierApproval",
    "Thing",
    "ThingChange",
    "ThingEnded",
    "ThingUse",
    "TreatedAnimal",
]
