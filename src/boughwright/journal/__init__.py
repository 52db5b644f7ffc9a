"""The journal: what was done, seen, measured and promised. It is the truth; all else is computed."""
