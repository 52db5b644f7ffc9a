"""The steps that bring a book of an older layout to the one written now."""
