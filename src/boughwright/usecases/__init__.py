"""One file for each of the grower's tasks: open the book, call the core, append events."""
