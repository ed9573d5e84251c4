"""The shape of a table of words: a code and its translatable template."""

from collections.abc import Mapping

from django.utils.functional import Promise

Words = Mapping[str, "Promise | str"]
