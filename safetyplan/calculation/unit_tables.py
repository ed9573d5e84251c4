"""The units and quantities of the trade, as data.

Physical ranges are what the quantity can be at all (a value beyond is refused); plausible ranges are what a
small cheese dairy meets (a value beyond is asked about). Both are common practice, no source, except absolute
zero (-273.15 °C, the definition of the kelvin) and pH 0 to 14 (the span of ordinary glass electrodes).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

Range = tuple[Decimal, Decimal]


@dataclass(frozen=True)
class Unit:
    """A unit: its code, the symbol shown, its quantity, the words accepted when typed (case-folded).

    pint: its name in the registry, "" for a declared scale. before: the symbol is written before the number.
    """

    code: str
    symbol: str
    quantity: str
    words: tuple[str, ...]
    pint: str = ""
    before: bool = False


@dataclass(frozen=True)
class Quantity:
    """A quantity: the units it may be typed in and, per unit, its ranges and the decimals shown.

    digits: longest whole part accepted. whole: counts of things. censored: "<10" and ">1500" may be typed.
    """

    name: str
    units: tuple[str, ...]
    physical: Mapping[str, Range]
    plausible: Mapping[str, Range]
    decimals: Mapping[str, int]
    digits: int = 6
    negative: bool = False
    whole: bool = False
    censored: bool = False


# code, symbol, quantity, words, name in pint
_LINEAR = (
    ("degC", "°C", "temperature", "°c c degc celsius", "degC"),
    ("degF", "°F", "temperature", "°f f degf fahrenheit", "degF"),
    ("s", "s", "duration", "s sec second seconds", "second"),
    ("min", "min", "duration", "min mins minute minutes", "minute"),
    ("h", "h", "duration", "h hr hrs hour hours", "hour"),
    ("d", "d", "duration", "d day days", "day"),
    ("L", "L", "volume", "l litre litres liter liters", "liter"),
    ("mL", "mL", "volume", "ml millilitre millilitres milliliter milliliters", "milliliter"),
    ("gal_us", "US gal", "volume", "gal gallon gallons usgal", "US_liquid_gallon"),
    ("gal_imp", "imp gal", "volume", "gal gallon gallons impgal", "imperial_gallon"),
    ("tsp_us", "US tsp", "volume", "tsp teaspoon teaspoons", "teaspoon"),
    ("tbsp_us", "US tbsp", "volume", "tbsp tablespoon tablespoons", "tablespoon"),
    ("cup_us", "US cup", "volume", "cup cups", "US_liquid_cup"),
    ("kg", "kg", "mass", "kg kilo kilos", "kilogram"),
    ("g", "g", "mass", "g gram grams gramme grammes", "gram"),
    ("lb", "lb", "mass", "lb lbs pound pounds", "pound"),
    ("mm", "mm", "length", "mm", "millimeter"),
    ("cm", "cm", "length", "cm", "centimeter"),
    ("inch", "in", "length", 'in inch inches "', "inch"),
    ("kPa", "kPa", "pressure", "kpa", "kilopascal"),
    ("psi", "psi", "pressure", "psi", "psi"),
    ("hPa", "hPa", "air_pressure", "hpa mbar", "hectopascal"),
    ("inHg", "inHg", "air_pressure", "inhg", "inch_Hg_32F"),
    ("m", "m", "altitude", "m metre metres meter meters", "meter"),
    ("ft", "ft", "altitude", "ft foot feet", "foot"),
    ("kg_per_m3", "kg/m³", "density", "kg/m³ kg/m3", "kilogram/meter**3"),
    ("g_per_ml", "g/ml", "density", "g/ml kg/l", "gram/milliliter"),
    ("mV", "mV", "potential", "mv", "millivolt"),
)

# code, symbol, quantity, words
_DECLARED = (
    ("pH", "pH", "ph", "ph"),
    ("percent_ww", "% w/w", "salt", "% %w/w w/w"),
    ("salometer", "°Sal", "salt", "°sal sal salometer °s"),
    ("baume", "°Bé", "salt", "°bé bé °be be baumé baume"),
    ("baume_144_3", "°Bé (144.3)", "salt", "°bé bé °be be baumé baume"),
    ("dornic", "°D", "acidity", "°d d dornic"),
    ("soxhlet_henkel", "°SH", "acidity", "°sh sh"),
    ("thorner", "°Th", "acidity", "°th th °t"),
    ("percent_lactic", "% lactic acid", "acidity", "% %lactic"),
    ("ppm", "ppm", "strength_ppm", "ppm mg/l"),
    ("count", "", "count", "pieces pcs pc"),
    ("cfu_per_g", "CFU/g", "colony_count", "cfu/g"),
    ("cfu_per_ml", "CFU/ml", "colony_count", "cfu/ml"),
    ("percent", "%", "percent", "%"),
    ("aw", "aw", "water_activity", "aw"),
    ("ratio", "", "ratio", ""),
    ("mol_per_kg", "mol/kg", "molality", "mol/kg"),
)

UNITS: Mapping[str, Unit] = {
    **{
        code: Unit(code, symbol, kind, tuple(words.split()), pint)
        for code, symbol, kind, words, pint in _LINEAR
    },
    **{
        code: Unit(code, symbol, kind, tuple(words.split()), before=code in ("pH", "aw"))
        for code, symbol, kind, words in _DECLARED
    },
}

# per unit: physical low and high, plausible low and high, decimals shown
_RANGES: Mapping[str, Mapping[str, tuple[str, str, str, str, int]]] = {
    "temperature": {
        "degC": ("-273.15", "300", "-30", "100", 1),
        "degF": ("-459.67", "572", "-22", "212", 1),
    },
    "ph": {"pH": ("0", "14", "3", "10", 2)},
    "duration": {
        "s": ("0", "8640000", "0", "86400", 0),
        "min": ("0", "5256000", "0", "2880", 1),
        "h": ("0", "87600", "0", "720", 2),
        "d": ("0", "3650", "0", "1100", 1),
    },
    "volume": {
        "L": ("0", "50000", "0", "10000", 2),
        "mL": ("0", "100000", "0", "5000", 1),
        "gal_us": ("0", "13000", "0", "2600", 2),
        "gal_imp": ("0", "11000", "0", "2200", 2),
        "tsp_us": ("0", "1000", "0", "100", 2),
        "tbsp_us": ("0", "1000", "0", "100", 2),
        "cup_us": ("0", "1000", "0", "100", 2),
    },
    "mass": {
        "kg": ("0", "50000", "0", "5000", 3),
        "g": ("0", "100000", "0", "20000", 1),
        "lb": ("0", "110000", "0", "11000", 2),
    },
    "length": {
        "mm": ("0", "10000", "0", "2000", 1),
        "cm": ("0", "1000", "0", "200", 2),
        "inch": ("0", "400", "0", "80", 2),
    },
    "pressure": {"kPa": ("0", "1000", "0", "100", 2), "psi": ("0", "150", "0", "15", 3)},
    "salt": {
        "percent_ww": ("0", "100", "0", "26.5", 2),
        "salometer": ("0", "110", "0", "100", 1),
        "baume": ("0", "30", "0", "26", 1),
        "baume_144_3": ("0", "30", "0", "26", 1),
    },
    "acidity": {
        "dornic": ("0", "300", "5", "150", 1),
        "soxhlet_henkel": ("0", "134", "2", "67", 1),
        "thorner": ("0", "334", "5", "167", 1),
        "percent_lactic": ("0", "3", "0.05", "1.5", 3),
    },
    "strength_ppm": {"ppm": ("0", "100000", "0", "1000", 0)},
    "count": {"count": ("0", "100000", "0", "5000", 0)},
    "colony_count": {
        "cfu_per_g": ("0", "9999999999", "0", "1000000000", 0),
        "cfu_per_ml": ("0", "9999999999", "0", "1000000000", 0),
    },
    "percent": {"percent": ("0", "100", "0", "100", 2)},
    "air_pressure": {
        "hPa": ("0", "1100", "600", "1070", 1),
        "inHg": ("0", "33", "18", "31.6", 2),
    },
    "altitude": {"m": ("-500", "9000", "-100", "3500", 0), "ft": ("-1600", "29600", "-300", "11500", 0)},
    "density": {"kg_per_m3": ("0", "2000", "950", "1250", 1), "g_per_ml": ("0", "2", "0.95", "1.25", 3)},
    "potential": {"mV": ("-2000", "2000", "-500", "500", 1)},
    "water_activity": {"aw": ("0", "1", "0.5", "1", 3)},
    "ratio": {"ratio": ("0", "1000000", "0", "1000000", 3)},
    "molality": {"mol_per_kg": ("0", "10", "0", "6.5", 3)},
}

_TRAITS: Mapping[str, Mapping[str, int]] = {
    "temperature": {"digits": 4, "negative": 1},
    "ph": {"digits": 4},
    "duration": {"digits": 7},
    "count": {"whole": 1},
    "colony_count": {"digits": 10, "whole": 1, "censored": 1},
    "percent": {"digits": 4},
    "altitude": {"negative": 1},
    "potential": {"negative": 1},
    "ratio": {"digits": 7},
}


def _quantity(name: str) -> Quantity:
    rows, traits = _RANGES[name], _TRAITS.get(name, {})
    return Quantity(
        name=name,
        units=tuple(rows),
        physical={unit: (Decimal(row[0]), Decimal(row[1])) for unit, row in rows.items()},
        plausible={unit: (Decimal(row[2]), Decimal(row[3])) for unit, row in rows.items()},
        decimals={unit: row[4] for unit, row in rows.items()},
        digits=traits.get("digits", 6),
        negative=bool(traits.get("negative")),
        whole=bool(traits.get("whole")),
        censored=bool(traits.get("censored")),
    )


QUANTITIES: Mapping[str, Quantity] = {name: _quantity(name) for name in _RANGES}
