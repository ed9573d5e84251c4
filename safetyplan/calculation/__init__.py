"""All calculating, comparing and rounding: pure functions, no Django, clock, file or network.

Map of the package, from the ground up:

    sentences.py     Sentence(code, params): what is said, without words; safetyplan/words/ gives the words
    refusal.py       Refusal: what cannot be known, with the range and the source
    rounding.py      the only rounding in the project
    unit_tables.py   the units and quantities of the trade as data: symbols, ranges, decimals
    units.py         conversion between units (the only file that imports pint)
    trade_units.py   titration, press pressure and rennet dose
    typed.py         the one parser of what a person types as a value
    times.py         the one parser of dates and times of day; lateness
    codes.py         lot codes: one written form, and the skeleton that finds look-alikes
    series.py        a log of readings at irregular times, with gaps that nothing fills
    judgement.py     State, Judgement, Measured, Evidence: what a limit is given and what it answers
    limits/          one file per kind of limit, the catalogue that loads them, the table for a device
    open_limit.py    the place of a limit that nobody has set yet
    worked/          the calculators: what each asks, its answer with the working step by step

and one module or a few per subject, each with its figures as data in a `*_tables.py`:

    heat, heat_requirement, lethality           heat treatment by the table of a rule; the kill as evidence
    acidification                               course of the pH, slow vats, a hint of the crossing
    brine, brine_scales, brine_tank             strength, scales, salt to make or mend a tank
    composition, water_activity                 salt in moisture, classes, estimates of water activity
    growth, growth_limits, exposure, listeria   growth during excursions, time in warmth, criteria
    ageing                                      days that count, warmth of a room, weight lost
    sampling, sampling_chances, geometric_mean  plans, their chances, rolling means
    instruments, look_back                      checks of thermometers and pH meters, what a failure reaches
    trends, run_rules, record_signals           control charts, patterns, how records are kept

Values are Decimal at the edges, floats inside where a docstring says so; instants are aware datetimes in UTC;
the caller passes the present time in. Refusals are exceptions that carry a Sentence; findings are values.
"""
