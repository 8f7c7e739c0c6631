"""Figures of the report, drawn as SVG by matplotlib; one file a figure."""
