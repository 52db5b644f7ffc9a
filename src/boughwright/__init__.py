"""Boughwright: memory, measurement and a clock for every branch of a deciduous bonsai."""

__version__ = "0.1.0"
