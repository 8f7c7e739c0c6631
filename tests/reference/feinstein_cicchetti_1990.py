"""A. R. Feinstein and D. V. Cicchetti, High agreement but low kappa, Journal of Clinical
Epidemiology 43, 1990, tables as quoted in B. B. Gerstman's text (table 10.6): the same raw
agreement, .85, with kappa .70 and .32. AC1 worked out by hand from Gwet's formula. RARE is a
table from memory, unconfirmed, with kappa and AC1 worked out.
"""

EVEN, EVEN_RAW, EVEN_KAPPA, EVEN_AC1 = ((40, 9), (6, 45)), 0.85, 0.69951923, 0.70074813
SKEWED, SKEWED_RAW, SKEWED_KAPPA, SKEWED_AC1 = ((80, 10), (5, 5)), 0.85, 0.31818182, 0.808
RARE, RARE_KAPPA, RARE_AC1 = ((118, 5), (2, 0)), -0.02339181, 0.94077634
