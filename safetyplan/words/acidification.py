"""The words of acidification."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
