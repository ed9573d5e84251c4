"""The words of the further kinds of limit."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
