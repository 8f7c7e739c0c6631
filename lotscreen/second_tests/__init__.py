"""Second tests: results of another kind than the readings, and what they leave of a coin's
explanations."""
