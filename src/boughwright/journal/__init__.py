"""The journal: what was done, seen, measured and promised. All else is computed from it."""
