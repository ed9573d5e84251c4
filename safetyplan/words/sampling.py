"""The words of sampling."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
