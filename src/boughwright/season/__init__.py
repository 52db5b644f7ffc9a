"""The season clock: weather, warmth, chill, day length, stages and alarms."""
