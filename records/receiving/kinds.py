"""The record kinds of what comes in."""

from datetime import datetime

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
from safetyplan.calculation.codes import skeleton
from safetyplan.integrity import canonical
from safetyplan.integrity.kinds import declare

CHANGE = ("first", "supersedes", "reason")
FILE = ("file_name", "media_type", "sha256")
LATE = ("late", "late_reason")


def oldest_milking(row: MilkLoad) -> datetime:
    """Give the instant of the oldest milking of a load."""
    return min(canonical.read_instant(text) for text in canonical.loads(row.milkings.encode()))


SUPPLIER = declare(Supplier, "supplier", "name", "address", "gives_milk", "closed", *CHANGE)
HERD = declare(Herd, "herd", "supplier", "name", "species", "closed", *CHANGE)
SUPPLIER_APPROVAL = declare(
    SupplierApproval, "supplier_approval", "supplier", "herd", "status", "valid_until", "reason"
)
CERTIFICATE = declare(
    Certificate,
    "health_certificate",
    "supplier",
    "herd",
    "name",
    "reference",
    "valid_until",
    *FILE,
    "withdrawn",
    "supersedes",
    "reason",
)
TREATMENT = ("herd", "animal", "drug", "last_dose_at", "milk_out_until")
TREATED_ANIMAL = declare(TreatedAnimal, "treated_animal", *TREATMENT, "ended_at", "supersedes", "reason")
INGREDIENT_LOT = declare(
    IngredientLot,
    "ingredient_lot",
    "kind",
    "name",
    "supplier",
    "code",
    "received_at",
    "use_by",
    "quantity_text",
    "quantity_unit",
    "storage",
    "allergens",
    "certificate",
    *FILE,
    *LATE,
    *CHANGE,
    derived={"code_skeleton": lambda row: skeleton(row.code)},
)
INGREDIENT_ENDED = declare(IngredientEnded, "ingredient_ended", "ingredient", "how", "ended_at", "reason")
LOAD = (
    "code",
    "supplier",
    "herd",
    "species",
    "milkings",
    "received_at",
    "volume_text",
    "volume_unit",
    "tank",
    "kit",
    "details",
    "statements",
    *LATE,
)
MILK_LOAD = declare(
    MilkLoad,
    "milk_load",
    *LOAD,
    "voided",
    *CHANGE,
    derived={"code_skeleton": lambda row: skeleton(row.code), "milked_at": oldest_milking},
)
MILK_REFUSED = declare(
    MilkRefused,
    "milk_refused",
    "load",
    "volume_text",
    "volume_unit",
    "outcome",
    "refused_at",
    "told",
    "why",
    *LATE,
    "supersedes",
    "reason",
)
AUTHORITY_NOTICE = declare(
    AuthorityNotice,
    "authority_notice",
    "load",
    "authority",
    "legal_basis",
    "deadline",
    "informed_at",
    "reference",
    "supersedes",
    "reason",
)
LOT_MILK = declare(LotMilk, "lot_milk", "lot", "load", "volume_text", "volume_unit", "supersedes", "reason")
