"""Composition of cheese: salt in moisture, water-phase salt, moisture without fat, fat in dry matter.

All in percent by mass of the cheese unless it is said otherwise; not rounded. Salt in moisture (S/M) and salt
of the water phase (S/(S+M)) are two things and differ; both are named in full.
"""

from decimal import Decimal

from safetyplan.calculation.composition_tables import FAT, FIRMNESS
from safetyplan.calculation.refusal import Refusal, require_within
from safetyplan.calculation.rounding import amount, trim
from safetyplan.calculation.sentences import say

_NOUGHT, _ALL = Decimal(0), Decimal(100)
LEAST_MOISTURE = Decimal("0.001")
SALT_SOURCE = "University of Guelph, cheese-making text, salt in moisture"
WATER_PHASE_SOURCE = "definition: salt in 100 g of its own brine"
RATIO_SOURCE = "Codex standard A-6 of 1978, moisture on a fat-free basis and fat on the dry basis"
_MASS = "definition: parts of 100 g of cheese"


def _share(value: Decimal, quantity: str) -> None:
    require_within(value, _NOUGHT, _ALL, quantity=quantity, unit="percent", source=_MASS, field=quantity)


def _some_moisture(moisture_percent: Decimal) -> None:
    _share(moisture_percent, "moisture")
    if moisture_percent < LEAST_MOISTURE:
        raise Refusal(say("composition_no_moisture"), "moisture")


def require_composition(
    *,
    moisture_percent: Decimal,
    fat_percent: Decimal = _NOUGHT,
    salt_percent: Decimal = _NOUGHT,
    protein_percent: Decimal = _NOUGHT,
) -> None:
    """Refuse an analysis that cannot be: each part 0 to 100 %, all of them together at most 100 %.

    A part that was not analysed is left at 0. Raises Refusal. Source: definition.
    """
    for value, quantity in (
        (moisture_percent, "moisture"),
        (fat_percent, "fat"),
        (salt_percent, "salt_content"),
        (protein_percent, "protein"),
    ):
        _share(value, quantity)
    total = moisture_percent + fat_percent + salt_percent + protein_percent
    if total > _ALL:
        raise Refusal(say("composition_over_100", total=amount(trim(total), "percent")), "moisture")


def salt_in_moisture(*, salt_percent: Decimal, moisture_percent: Decimal) -> Decimal:
    """Salt in moisture, %: 100 x salt / moisture. Grams of salt to 100 g of water.

    Not rounded. Validity: moisture at least 0.001 %, together at most 100 %. Raises Refusal. Source:
    SALT_SOURCE.
    """
    _some_moisture(moisture_percent)
    require_composition(moisture_percent=moisture_percent, salt_percent=salt_percent)
    return 100 * salt_percent / moisture_percent


def water_phase_salt(*, salt_percent: Decimal, moisture_percent: Decimal) -> Decimal:
    """Salt of the water phase, %: 100 x salt / (salt + moisture). Grams of salt in 100 g of its brine.

    Not rounded. Validity and errors as salt_in_moisture; less than that wherever there is salt. Source:
    WATER_PHASE_SOURCE.
    """
    _some_moisture(moisture_percent)
    require_composition(moisture_percent=moisture_percent, salt_percent=salt_percent)
    return 100 * salt_percent / (salt_percent + moisture_percent)


def moisture_without_fat(*, moisture_percent: Decimal, fat_percent: Decimal) -> Decimal:
    """Moisture on a fat-free basis (MFFB), the same as moisture in non-fat substance (MNFS), %.

    100 x moisture / (100 - fat), not rounded. Validity: together at most 100 %, fat below 100 %. Raises
    Refusal. Source: RATIO_SOURCE.
    """
    require_composition(moisture_percent=moisture_percent, fat_percent=fat_percent)
    if fat_percent == _ALL:
        raise Refusal(say("composition_all_fat"), "fat")
    return 100 * moisture_percent / (100 - fat_percent)


def fat_in_dry_matter(*, moisture_percent: Decimal, fat_percent: Decimal) -> Decimal:
    """Fat in dry matter (FDM), %: 100 x fat / (100 - moisture).

    Not rounded. Validity: together at most 100 %, moisture below 100 %. Raises Refusal. Source: RATIO_SOURCE.
    """
    require_composition(moisture_percent=moisture_percent, fat_percent=fat_percent)
    if moisture_percent == _ALL:
        raise Refusal(say("composition_all_moisture"), "moisture")
    return 100 * fat_percent / (100 - moisture_percent)


def firmness_classes(moisture_without_fat_percent: Decimal, *, scheme: str) -> tuple[str, ...]:
    """Every firmness class that fits a moisture on a fat-free basis, in the order of the scheme.

    scheme: a name of FIRMNESS. The Codex bands overlap, so two may fit; the statistics of the EU give one.
    Raises Refusal outside 0 to 100 %, KeyError for an unknown scheme. Source: FIRMNESS[scheme].source.
    """
    _share(moisture_without_fat_percent, "moisture_without_fat")
    return tuple(band.name for band in FIRMNESS[scheme].bands if band.holds(moisture_without_fat_percent))


def fat_class(fat_in_dry_matter_percent: Decimal, *, scheme: str) -> str:
    """The fat class of a fat in dry matter; exactly on an edge is the upper class, but see 60 % of 1978.

    scheme: a name of FAT, which is the edition. Raises Refusal outside 0 to 100 %, KeyError for an unknown
    scheme. Source: FAT[scheme].source.
    """
    _share(fat_in_dry_matter_percent, "fat_in_dry_matter")
    return next(band.name for band in FAT[scheme].bands if band.holds(fat_in_dry_matter_percent))
