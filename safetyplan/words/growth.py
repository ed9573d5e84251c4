"""The words of growth during excursions."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
