"""The rules of the plan check, a file per subject. `plan_check.RULES` is the one list of them."""
