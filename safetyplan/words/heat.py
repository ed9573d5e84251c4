"""The words of heat treatment."""

from safetyplan.words.shape import Words

NAMES: Words = {}

WORDS: Words = {}
