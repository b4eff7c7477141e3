"""Coming off in two stages: person safe now, close later today."""
