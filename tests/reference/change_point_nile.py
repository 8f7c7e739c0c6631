"""The change in the yearly flow of the Nile at Aswan, 1871-1970.

The flow: Cobb, G. W., Biometrika 65 (1978), as statsmodels carries it. The last year of
the old flow is the 28th (1898): Zeileis, A. and colleagues, Computational Statistics &
Data Analysis 44 (2003), breakpoint 28. Statistic and p-value of Pettitt's test were worked
out separately by two routes. The two means are those of the least-squares break.
"""

LAST_YEAR_OF_OLD_FLOW = 1898
COINS_BEFORE = 28
INTERVAL = (25, 32)  # 95 %, the same paper; it lets the two parts spread differently
STATISTIC = 1617.0
P_VALUE = 3.591e-7
MEAN_BEFORE, MEAN_AFTER = 1097.75, 849.9722
