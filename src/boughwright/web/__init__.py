"""The pages and the JSON API, on use cases only."""
