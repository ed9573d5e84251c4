"""The words of trends."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
