"""Growth: the ring within a season and how thick a branch will be."""
