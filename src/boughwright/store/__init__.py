"""Store: the book, an SQLite file that holds the journal and the weather."""
