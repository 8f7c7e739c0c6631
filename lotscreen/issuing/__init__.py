"""Issued papers: a screening frozen with all that it was made from, in numbered versions.

What goes in is put into one archive first; the papers are then made from the archive and
from nothing else, so that making them again gives the same bytes.
"""
