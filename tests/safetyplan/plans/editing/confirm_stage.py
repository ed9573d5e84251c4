"""Helpers of the tests of the confirmations: confirm a figure, sign the table or a flow, parts of a page."""

import json
import re

from django.http import HttpResponse

from safetyplan.establishments.models import Person
from safetyplan.plans.document import Plan, read
from safetyplan.plans.figures import Figure, figures, flow_value, targets_value
from tests.cast import PASSWORD, Cast
from tests.safetyplan.plans.editing.programmes_stage import document, get, send
from tests.safetyplan.plans.stage import PLAN
from tests.web import text_of

PRESENT = read(json.loads(PLAN))
PRODUCT = PRESENT.products[0]
SOURCE = "Annex III, section IX, read that day"


def plan_of(cast: Cast) -> Plan:
    """Read the draft."""
    return read(document(cast))


def figure_of(cast: Cast, what: str) -> Figure:
    """Give a figure of the draft."""
    return next(figure for figure in figures(plan_of(cast)) if figure.what == what)


def confirm(cast: Cast, what: str = "limit:CCP1", **changed: str) -> HttpResponse:
    """Send the form of one figure."""
    figure = figure_of(cast, what)
    typed = {"what": what, "value": figure.value, "source": SOURCE}
    return send(cast, "plan_confirm_figure", **{**typed, **changed})


def sign_table(cast: Cast, *, by: Person | None = None, **changed: str) -> HttpResponse:
    """Send the signature under the table."""
    typed = {"value": targets_value(PRESENT), "password": PASSWORD}
    return send(cast, "plan_confirm_targets", by=by, **{**typed, **changed})


def sign_flow(cast: Cast, *, by: Person | None = None, **changed: str) -> HttpResponse:
    """Send the signature under the flow of the first product."""
    typed = {"value": flow_value(PRODUCT), "note": "Walked at six with the maker", "password": PASSWORD}
    return send(cast, "plan_confirm_flow", PRODUCT.code, by=by, **{**typed, **changed})


def page_of(cast: Cast, who: str = "owner") -> str:
    """Open the screen."""
    return text_of(get(cast, getattr(cast, who), "plan_confirm"))


def card(page: str, name: str) -> str:
    """Give the part of the page about one figure or flow."""
    return next(part for part in page.split('<section class="confirm')[1:] if f"<bdi>{name}</bdi>" in part)


def source_of(part: str) -> str:
    """Give what stands in the field of the source."""
    found = re.search(r'<input[^>]*name="source"[^>]*>', part)
    assert found is not None
    value = re.search(r'value="([^"]*)"', found.group())
    return value.group(1) if value else ""
