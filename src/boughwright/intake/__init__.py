"""Intake: weather files and plain tables, forgiving on input, strict on meaning."""
