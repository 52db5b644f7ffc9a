"""Feed: hold windows by phase and stage."""
