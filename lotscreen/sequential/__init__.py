"""Sequential tests, sampling plans and charts; knows findings' rates, not the engine."""
