"""All calculating, comparing and rounding: pure functions, no Django, clock, file or network.

Map of the package:

    sentences.py     Sentence(code, params): what is said, without words; safetyplan/words.py gives the words
    judgement.py     State, Judgement, Measured, Evidence: what a limit is given and what it answers
    unit_tables.py   the units and quantities of the trade as data: symbols, ranges, decimals
    units.py         conversion between units (the only file that imports pint)
    trade_units.py   titration, press pressure and rennet dose
    typed.py         the one parser of what a person types as a value
    times.py         the one parser of dates and times of day; lateness
    codes.py         lot codes: one written form, and the skeleton that finds look-alikes
    rounding.py      the only rounding in the project
    limits/          one file per kind of limit, the catalogue that loads them, the table for a device

Values are Decimal throughout; instants are aware datetimes in UTC; the caller passes the present time in.
Refusals are exceptions that carry a Sentence; findings are values.
"""
