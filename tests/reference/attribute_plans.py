"""Single sampling plans, normal inspection, level II, and operating characteristics.

PLANS: a public table "developed from MIL-STD-105E Tables I, II-A" (it prints the rejection
number, one above the acceptance number). Between 0.65 and 2.5 all cells and arrows were
read there; at 0.40 the cells of K, L and M are from a copy of MIL-STD-105E in a package of
sampling plans, the others follow the table's diagonal. An arrow leads to the next plan
above or below, which keeps its own sample size. The text of ISO 2859-1 was not read.
OC and POINTS were worked out separately (binomial; hypergeometric in whole fractions).
"""

LETTERS = {
    (91, 150): ("F", 20), (151, 280): ("G", 32), (281, 500): ("H", 50), (501, 1200): ("J", 80),
    (1201, 3200): ("K", 125), (3201, 10_000): ("L", 200), (10_001, 35_000): ("M", 315),
}  # fmt: skip

LIMITS = (0.40, 0.65, 1.0, 1.5, 2.5)
UP, DOWN = "^", "v"
PLANS = {
    "F": (DOWN, 0, UP, DOWN, 1),
    "G": (0, UP, DOWN, 1, 2),
    "H": (UP, DOWN, 1, 2, 3),
    "J": (DOWN, 1, 2, 3, 5),
    "K": (1, 2, 3, 5, 7),
    "L": (2, 3, 5, 7, 10),
    "M": (3, 5, 7, 10, 14),
}

SHARES = (0.01, 0.02, 0.05, 0.10)
OC = {
    (1000, 80, 2): (0.96075168, 0.78924714, 0.21864473, 0.00859898),
    (2000, 125, 3): (0.96775040, 0.76242397, 0.11584408, 0.00079800),
}
OC_ENDLESS = {
    (80, 2): (0.95344681, 0.78441889, 0.23062050, 0.01068367),
    (125, 3): (0.96255094, 0.75866980, 0.12378470, 0.00104197),
}
