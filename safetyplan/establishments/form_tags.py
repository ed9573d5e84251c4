"""The token of a form, and beside it the signed mark by which what was typed is kept for its person."""

from typing import Any

from django import template
from django.template.defaulttags import CsrfTokenNode
from django.utils.html import format_html

from safetyplan.establishments.unsent import FIELD, mark_of

register = template.Library()


class FormTokenNode(CsrfTokenNode):
    """Both hidden fields."""

    def render(self, context: Any) -> str:
        """Draw them; the mark only where somebody is signed in."""
        token, request = super().render(context), context.get("request")
        if request is None or not getattr(request, "user", None) or not request.user.is_authenticated:
            return token
        return token + format_html('<input type="hidden" name="{}" value="{}">', FIELD, mark_of(request))


@register.tag(name="csrf_token")
def form_token(parser: Any, token: Any) -> FormTokenNode:
    """Take the place of the framework's tag of this name."""
    return FormTokenNode()
