"""Benchwork: toll, order, never-pairs, may-I, bench time and the call-up."""
