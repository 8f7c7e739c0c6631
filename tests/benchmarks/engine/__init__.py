"""The engine measured against its targets on invented lots whose truth is known.

``python tests/benchmarks/engine`` prints one table: what was asked, what was reached,
with intervals. Every lot has its own seed, so that a part can be run alone.
"""
