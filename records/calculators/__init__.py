"""Pages of the calculators: a result with its working, which can be attached to a deviation as evidence."""
