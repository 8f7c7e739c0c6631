"""d' and criterion with the log-linear correction (Hautus, Behavior Research Methods 27, 1995).

The first example is that of the documentation of the package statpsych, function signal: 82
hits of 100, 46 false alarms of 100. The others are worked out separately: 20 of 20 and 0 of 20;
true shares .8 and .1.
"""

HITS, OF_FALSE, ALARMS, OF_HONEST = 82, 100, 46, 100
HIT_SHARE, ALARM_SHARE = 0.8168317, 0.460396
D_PRIME, CRITERION = 1.002793, -0.4019603

PERFECT_OF = 20
PERFECT_D_PRIME = 3.96150479

TRUE_SHARES = (0.8, 0.1)
TRUE_D_PRIME = 2.12317280
