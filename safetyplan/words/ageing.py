"""The words of ageing."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
