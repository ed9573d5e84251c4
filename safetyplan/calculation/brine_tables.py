"""Sodium chloride brine as published: density, saturation, freezing point, the scales of hydrometers.

Everything else about brine is computed from these figures, by straight lines between them. The brine is pure
salt in water; whey in a used brine is not in any table.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

DENSITY_SOURCE = "Kaufmann, Sodium Chloride (1960), as in the CRC Handbook of Chemistry and Physics"
SATURATION_SOURCE = "Solubility of salt by temperature, Salt Institute"
FREEZING_SOURCE = (
    "freezing points of CoolProp 8.0.0 (INCOMP::MNA); eutectic: Oregon State University Extension S.G. 22"
)
SALOMETER_SOURCE = "The salometer and how to use it (spotidoc.com/doc/221243): 100 °Sal is 26.395 % at 60 °F"
BAUME_SOURCE = "Baumé scale for heavy liquids: specific gravity = modulus ÷ (modulus − °Bé) (camblab.info)"

# Density in kg/m³ by % w/w and °C, 0 to 26 % (DENSITY_SOURCE; printed as g/ml of the old litre, 28 parts in a
# million larger: 0.03 kg/m³). The columns 0, 10, 20, 25 and 30 °C are printed. Those of 5 and 15 °C are the
# cubic through the printed ones at 0, 10, 20 and 30 °C, because a straight line over ten degrees would be
# wrong by up to 0.2 kg/m³.
TEMPERATURES_C = tuple(map(Decimal, ("0", "5", "10", "15", "20", "25", "30")))
_DENSITY = (
    ("0", "999.87 999.99 999.73 999.13 998.23 997.07 995.67"),
    ("1", "1007.47 1007.46 1007.07 1006.35 1005.34 1004.09 1002.61"),
    ("2", "1015.09 1014.94 1014.42 1013.58 1012.46 1011.12 1009.57"),
    ("4", "1030.38 1029.97 1029.20 1028.13 1026.80 1025.30 1023.61"),
    ("6", "1045.75 1045.09 1044.08 1042.79 1041.27 1039.63 1037.81"),
    ("8", "1061.21 1060.30 1059.07 1057.58 1055.89 1054.12 1052.19"),
    ("10", "1076.77 1075.63 1074.19 1072.52 1070.68 1068.79 1066.76"),
    ("12", "1092.44 1091.08 1089.46 1087.63 1085.66 1083.65 1081.53"),
    ("14", "1108.24 1106.69 1104.91 1102.94 1100.85 1098.72 1096.51"),
    ("16", "1124.19 1122.50 1120.56 1118.44 1116.21 1114.01 1111.71"),
    ("18", "1140.31 1138.48 1136.43 1134.22 1131.90 1129.54 1127.15"),
    ("20", "1156.63 1154.70 1152.54 1150.22 1147.79 1145.33 1142.85"),
    ("22", "1173.18 1171.16 1168.91 1166.48 1163.95 1161.40 1158.83"),
    ("24", "1189.99 1187.91 1185.57 1183.04 1180.40 1177.76 1175.11"),
    ("26", "1207.09 1204.96 1202.54 1199.91 1197.17 1194.43 1191.70"),
)
DENSITY: tuple[tuple[Decimal, tuple[Decimal, ...]], ...] = tuple(
    (Decimal(percent), tuple(map(Decimal, row.split()))) for percent, row in _DENSITY
)
LOWEST_C, HIGHEST_C = TEMPERATURES_C[0], TEMPERATURES_C[-1]
# Above it a figure is an entry error, or the brine is saturated with salt left over.
HIGHEST_PERCENT = Decimal("26.3")

# °F, % w/w of saturated brine (SATURATION_SOURCE). Below 32.2 °F another solid forms.
SATURATION_F: tuple[tuple[Decimal, Decimal], ...] = tuple(
    (Decimal(fahrenheit), Decimal(percent))
    for fahrenheit, percent in (
        ("32", "26.29"),
        ("32.2", "26.31"),
        ("40", "26.33"),
        ("50", "26.36"),
        ("60", "26.395"),
        ("70", "26.45"),
        ("80", "26.52"),
        ("100", "26.68"),
    )
)

# °C at 0, 1, 2 ... 23 % w/w, and the eutectic (FREEZING_SOURCE).
_FREEZING = (
    "0 -0.60 -1.20 -1.80 -2.42 -3.05 -3.71 -4.38 -5.07 -5.80 -6.55 -7.34 -8.17 -9.03 -9.94 -10.90 -11.90 "
    "-12.96 -14.06 -15.23 -16.46 -17.74 -19.10 -20.51"
)
EUTECTIC_PERCENT, EUTECTIC_C = Decimal("23.3"), Decimal("-21.1")
FREEZING: tuple[tuple[Decimal, Decimal], ...] = (
    *((Decimal(percent), Decimal(text)) for percent, text in enumerate(_FREEZING.split())),
    (EUTECTIC_PERCENT, EUTECTIC_C),
)

SIXTY_F_IN_C = Decimal(140) / 9
# Field correction of a salometer: 1 degree for each 5.6 °C above 15.6 °C.
FIELD_REFERENCE_C, FIELD_STEP_C = Decimal("15.6"), Decimal("5.6")
FIELD_SOURCE = (
    "Fish-smoking extension note (scribd.com/document/361476752): + 1 °Sal per 5.6 °C above 15.6 °C"
)


@dataclass(frozen=True)
class BaumeScale:
    """A Baumé scale: its modulus, and the temperature at which water reads 0 and its stem is right."""

    modulus: Decimal
    reference_c: Decimal


# 144.3 at 15 °C: modulus from memory; it alone gives the printed 20 °Bé = 21.2 % (handbook chapter on brine
# salting, buffalobrewingstl.com). 146.78 is quoted beside them as the scale of Gerlach; its 15 °C is from
# memory.
BAUME_SCALES: Mapping[str, BaumeScale] = {
    "baume_145": BaumeScale(Decimal(145), SIXTY_F_IN_C),
    "baume_144_3": BaumeScale(Decimal("144.3"), Decimal(15)),
    "baume_146_78": BaumeScale(Decimal("146.78"), Decimal(15)),
}
