"""Outputs for people: the PDF report and the files beside it; computes no statistic."""
