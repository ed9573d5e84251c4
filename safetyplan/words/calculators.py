"""The words of the calculators themselves: their inputs and refusals."""

from django.utils.translation import gettext_lazy as _

from safetyplan.words.shape import Words

NAMES: Words = {
    "air_pressure": _("air pressure"),
    "altitude": _("altitude"),
    "density": _("density"),
    "potential": _("potential"),
    "water_activity": _("water activity"),
    "ratio": _("ratio"),
    "molality": _("salt per kg of water"),
}

WORDS: Words = {
    "outside_validity": _(
        "%(quantity)s %(value)s lies outside the range in which this is known: "
        "%(low)s to %(high)s (%(source)s)."
    ),
    "series_two_values": _("Two different readings are given for %(at)s. Which one is right?"),
    "series_too_fine": _("%(value)s is finer than a thousandth, which no instrument here reads."),
    "series_empty": _("There is no reading."),
    "calculator_needs": _("Needed: %(part)s."),
    "log_empty": _("There is no reading. Write one line per reading: the time, then the value."),
    "log_too_long": _("At most %(most)s lines, please."),
    "log_mixed_times": _("Line %(line)s writes its time in another way than the lines before it."),
    "log_order": _(
        "Line %(line)s (%(time)s) is not later than the line before it. Write the date before the time "
        "where another day is meant."
    ),
    "log_time": _("Line %(line)s: “%(typed)s” is not a time. Write 10:05, or 2026-05-14 10:05, or a number."),
    "log_columns": _("Line %(line)s: %(expected)s values are needed after the time, there are %(found)s."),
    "log_value": _("Line %(line)s: “%(typed)s” is not a value that can be read. For no value, write “-”."),
}
