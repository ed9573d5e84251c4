"""The closed family of limits: one file per kind, loaded by `catalogue.load`."""
