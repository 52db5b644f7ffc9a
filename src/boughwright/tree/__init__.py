"""The tree: structure as arrays, state replayed from the journal, and the measures of the trade."""
