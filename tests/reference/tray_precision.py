"""How far marks of trays are open, worked out separately from the binomial distribution and
the delta method (Gourevitch and Galanter, Psychometrika 32, 1967): standard error of d' of a
trainee with true shares .80 and .10, by pieces not honest and honest; the exact mean and
standard deviation of the log-linear d' on one tray; what hits without a miss show at least;
the chances of the rule 27 of 30 and at most 9 of 95, two digits.
"""

STANDARD_ERROR = {(6, 19): 0.70, (10, 15): 0.63, (30, 95): 0.31, (60, 190): 0.22}
ONE_TRAY_MEAN, ONE_TRAY_SD = 2.03, 0.61
AT_LEAST = {6: 0.61, 10: 0.74, 29: 0.90, 59: 0.95}

LEAST_HITS, OF_FALSE, MOST_ALARMS, OF_HONEST = 27, 30, 9, 95
PASS_HITS = {0.80: 0.12, 0.85: 0.32, 0.90: 0.65, 0.95: 0.94}
PASS_ALARMS = {0.05: 0.98, 0.10: 0.52, 0.20: 0.005}
JOINT_SHARES, JOINT = (0.90, 0.05), 0.63
ONE_TRAY_LEAST, ONE_TRAY_OF, ONE_TRAY_HIT, ONE_TRAY_PASS = 5, 6, 0.80, 0.66
