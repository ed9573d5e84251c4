"""What others have published, as data read from `fixtures/reference/`.

Regulatory profiles, the list of hazards, model plans.
"""
