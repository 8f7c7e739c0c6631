"""Chance to notice one coin 17.5 % light in a group, at 2 % false alarm, by group size.

Worked out separately (no printed table): loss by wear gamma of shape 2 with mean 1.5, 2.5
and 3.5 %, the odd coin itself unworn, no spread of the mint, a balance of 0.05 g sd at
most. COARSE: the balance of 0.1 g (sd 0.1 g) for groups of five.
"""

LIGHTER, ALARM = 0.175, 0.02
SIZES = (5, 10, 20, 50)
COINS = {"half": (12.5, 0.015), "quarter": (6.25, 0.025), "dime": (2.5, 0.035)}
CHANCES = {
    "half": (1.00, 1.00, 0.87, 0.46),
    "quarter": (0.96, 0.64, 0.37, 0.16),
    "dime": (0.51, 0.27, 0.16, 0.09),
}
COARSE = {"quarter": 0.92, "dime": 0.40}
