"""Verdicts: one small pure function a card, the health gate, the order of precedence."""
