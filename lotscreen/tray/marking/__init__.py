"""Marks from answers: rates with intervals, skill apart from suspicion, what stands out."""
