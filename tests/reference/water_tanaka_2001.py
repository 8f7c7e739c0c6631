"""Density of water: Tanaka, Girard, Davis, Peuto and Bignell, Metrologia 38 (2001) 301.

The coefficients stand in many public sources; the values were calculated from them with
other code and agree with IAPWS-95 (calculated with another program) to 0.001 kg/m3 from 4 to
40 degrees Celsius.
"""

TANAKA_KG_M3 = {
    0: 999.8428,
    4: 999.9749,
    15: 999.1026,
    20: 998.2067,
    25: 997.0470,
    30: 995.6488,
    40: 992.2152,
}
IAPWS_95_KG_M3 = {4: 999.9749, 15: 999.1026, 20: 998.2072, 25: 997.0476, 30: 995.6495, 40: 992.2164}

# A sovereign of 17.5 g/cm3 on a balance adjusted with weights of 8 000 kg/m3, by hand: volume
# 0.456423 cm3, true mass 7.98870 g.
SOVEREIGN_AIR_G = 7.98805
SOVEREIGN_IMMERSED_G = 7.53293
SOVEREIGN_DENSITY = 17.5
