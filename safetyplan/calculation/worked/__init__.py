"""Calculations worked step by step for a person: one file per calculator, all of one shape (`shape.py`)."""
