"""The words of composition."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
