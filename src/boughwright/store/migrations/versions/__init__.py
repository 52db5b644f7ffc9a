"""One module a step. Revisions are numbered in order and listed in ``store.layout``."""
