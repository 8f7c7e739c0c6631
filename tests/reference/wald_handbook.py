"""Wald's test of a share of 0.01 against 0.10 with risks 0.05 and 0.10.

The example is that of the NIST/SEMATECH e-Handbook of Statistical Methods, chapter 6,
sequential sampling plans; its lines -0.939 + 0.0397 n and 1.205 + 0.0397 n are from
memory, unconfirmed. WALD holds the formulas of Wald, Sequential Analysis (1947), worked
out separately; EXACT a dynamic programme written separately, confirmed by 400,000
simulated tests a share (SIMULATED: share accepted and its standard error, mean number of
coins and its standard error).
"""

CLEAN_SHARE, BAD_SHARE = 0.01, 0.10
RISK_MEASURE_ALL, RISK_ACCEPT = 0.05, 0.10

LOG_ODDS_RATIO = 2.397895273
ACCEPT_INTERCEPT = 0.9388616026
MEASURE_ALL_INTERCEPT = 1.2053786463
SLOPE = 0.0397474322

FROM_MEMORY = (0.939, 1.205, 0.0397)

FIRST_ACCEPTING = {0: 24, 1: 49, 2: 74, 3: 100}
"""Coins set aside, and the first number of coins after which so many accept."""

REJECTION_NUMBERS = {2: (2, 19), 3: (20, 45), 4: (46, 70), 5: (71, 95)}
"""Rejection number, and the first and last number of coins at which it holds."""

SLOPE_SHARE = None  # stands for the slope itself, which is no round figure
WALD = {
    0.005: (0.984048, 26.035),
    0.01: (0.95, 27.957),
    0.02: (0.841534, 30.337),
    SLOPE_SHARE: (0.562147, 29.650),
    0.05: (0.430512, 27.530),
    0.10: (0.10, 16.447),
    0.15: (0.023028, 10.485),
}
EXACT = {
    0.005: (0.99506549, 27.086704),
    0.01: (0.97795289, 30.212726),
    0.02: (0.89946854, 35.666931),
    SLOPE_SHARE: (0.61863058, 39.046863),
    0.05: (0.46885885, 37.123071),
    0.10: (0.09957880, 22.369155),
    0.15: (0.02184848, 14.332580),
}
SIMULATED = {
    0.005: (0.99491, 0.00011, 27.111, 0.015),
    0.01: (0.97809, 0.00023, 30.221, 0.023),
    0.02: (0.89917, 0.00048, 35.652, 0.036),
    SLOPE_SHARE: (0.61859, 0.00077, 39.047, 0.046),
    0.05: (0.46924, 0.00079, 37.159, 0.045),
    0.10: (0.09934, 0.00047, 22.393, 0.028),
    0.15: (0.02176, 0.00023, 14.307, 0.017),
}
