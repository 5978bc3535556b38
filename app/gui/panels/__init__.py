"""The panels at the right: one for each step."""
