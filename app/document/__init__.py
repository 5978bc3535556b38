"""The job as plain data, and the one path from its facts to everything derived from them."""
