"""Y. Benjamini and Y. Hochberg, Controlling the false discovery rate: a practical and powerful
approach to multiple testing, Journal of the Royal Statistical Society B 57, 1995, section 3.2:
15 p-values, of which the rule rejects four at 5 %. The q-values are calculated from them.
"""

P_VALUES = (
    0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262,
    0.5719, 0.6528, 0.7590, 1.000,
)  # fmt: skip
REJECTED_AT_5_PERCENT = 4
Q_VALUES = (
    0.0015, 0.003, 0.0095, 0.035625, 0.0603, 0.06385714, 0.06385714, 0.0645, 0.0765, 0.486,
    0.58118182, 0.714875, 0.75323077, 0.81321429, 1.0,
)  # fmt: skip
