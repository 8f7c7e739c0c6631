"""Practice trays: pieces from a register, trays of equal difficulty, answers and their marks.

The instrument measures how hard a piece is; what a piece is stands in the register, which
is the key. People are codes here, never names.
"""
