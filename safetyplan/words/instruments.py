"""The words of instruments."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
