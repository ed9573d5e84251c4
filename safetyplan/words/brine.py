"""The words of brine and salt."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
