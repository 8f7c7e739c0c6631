"""Cohen's kappa of a table of three categories as SAS prints it (.4842), in statsmodels' own
test of agreement."""

TABLE = ((0, 4, 1), (0, 8, 0), (0, 1, 5))
KAPPA = 0.4842
