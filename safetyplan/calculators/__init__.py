"""The calculators between a page and the calculation: what was typed is read, the working put into words."""
