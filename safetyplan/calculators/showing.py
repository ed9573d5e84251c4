"""A worked result in words, as a picture, and as the text that is kept."""

from collections.abc import Mapping
from typing import Any

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from safetyplan.calculation.unit_tables import UNITS
from safetyplan.calculation.worked.shape import Calculator, Chart, Task, Worked
from safetyplan.calculators.reading import unit_of
from safetyplan.printing.chart import Scene, to_svg
from safetyplan.printing.curve import Words, curve_scene
from safetyplan.words import name_words, render, sentence_case


def title(calculator: Calculator, task: Task) -> str:
    """Name a calculator and, where it has several, its task."""
    name = sentence_case(name_words(calculator.name))
    return name if len(calculator.tasks) == 1 else f"{name}: {name_words(task.name)}"


def in_words(worked: Worked) -> dict[str, list[str]]:
    """Give every sentence of a result in the reader's language, by section, and the sources."""
    found = {
        name: [sentence_case(render(sentence)) for sentence in said] for name, said in worked.sentences()
    }
    return {**found, "sources": list(worked.sources)}


def inputs_in_words(task: Task, typed: Mapping[str, str]) -> list[tuple[str, str]]:
    """Give what was typed, with the name of each input and its unit."""
    shown = []
    for ask in task.asks:
        raw = typed.get(ask.name, "").strip()
        if not raw:
            continue
        unit = UNITS[unit_of(ask, typed)].symbol if ask.units else ""
        text = name_words(raw) if ask.entry == "choice" else raw
        alone = ask.entry == "number" and raw[-1:].isdigit() and unit
        label = sentence_case(name_words(ask.name))
        if alone:
            text = f"{text} {unit}"
        elif unit:
            label = f"{label} ({unit})"
        shown.append((label, text))
    return shown


def scene_of(chart: Chart) -> Scene:
    """Draw the chart of a result: one scene for page and paper."""
    language = (get_language() or "en").split("-")[0]
    words = Words(
        x_label=name_words(chart.x),
        y_label=name_words(chart.y),
        trace=name_words(chart.trace),
        limit=name_words(chart.limit) if chart.limit else "",
        target=name_words(chart.target) if chart.target else "",
        band=name_words(chart.band) if chart.band else "",
        nothing=_("nothing to draw"),
        decimal_mark="." if language == "en" else ",",
    )

    def floats(pairs: Any) -> list[tuple[float, float]]:
        return [(float(a), float(b)) for a, b in pairs]

    return curve_scene(
        floats(chart.points),
        floats(chart.limit_steps),
        floats(chart.target_steps),
        words,
        bands=floats(chart.bands),
        more_target_steps=[floats(steps) for steps in chart.more_target_steps],
    )


def picture(worked: Worked, name: str) -> SafeString | None:
    """Give the chart as SVG for a page; None when the result has none."""
    if worked.chart is None:
        return None
    told = render(worked.result)
    return mark_safe(to_svg(scene_of(worked.chart), name, told))
