"""What others have published, as data read from `fixtures/reference/`: regulatory profiles."""
