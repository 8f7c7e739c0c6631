"""The four sample lots: each a file with a sheet and a key that tells the truth."""
