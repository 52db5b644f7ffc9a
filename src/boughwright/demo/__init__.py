"""The demonstration garden, made by script through the same doors a grower uses."""
