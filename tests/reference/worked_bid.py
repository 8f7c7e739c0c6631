"""Worked by hand with statute weights at example prices (silver 30, gold 2 400 an ounce).

Half dollar: 12.5 g of .900 (Act of 12 February 1873, 17 Stat. 424, s. 15). Sovereign: 7.98805 g
of 22 carats (Coinage Act 1870, schedule). 40 % half dollar: 11.5 g of .400 (Coinage Act of
1965, Public Law 89-81, from memory). Melt by face at 715 ounces for 1 000 dollars: common practice,
no source. Spreads are assumed. Figures as printed by the hand calculation, rounded.
"""

SILVER, GOLD = 30.0, 2400.0

HALF_PAID, HALF_MARGIN, HALF_EATS, HALF_THRESHOLD = 10.31, 0.54, 19, 0.05
SOVEREIGN_PAID, SOVEREIGN_MARGIN, SOVEREIGN_EATS, SOVEREIGN_THRESHOLD = 554, 11.3, 49, 0.02
HALVES_LOST_PER_PERCENT = 206  # of 2 000 halves, all accepted
SOVEREIGNS_LOST_PER_PERCENT = 1107  # of 200
BAG_TARE_G, BAG_TARE_MONEY = 80.0, 69
FORTY_PERCENT_OUNCES, NINETY_PERCENT_OUNCES = 0.1479, 0.3617
FORTY_PERCENT_LOST = 0.59  # of the price, where a 40 % half is paid as 90 %
KEPT_BY_800 = 7 / 8  # of the melt of .900, about: .8/.9 x 10.15/10.31 (densities from memory)

# The highest bid for 2 000 halves: net 24 690 g (sd 5), 150 measured, one confirmed base metal,
# prior beta (1/2, 49 1/2), spread 5 %, fixed 150, work 300. By simulation, so that the last
# digit is uncertain.
NET_G, NET_SD_G, COINS, MEASURED, CONFIRMED = 24690.0, 5.0, 2000, 150, 1
DEPARTING = (15, 2, 38)  # mean, 5 %, 95 %
OUNCES = (703.0, 710.9, 713.8)  # 5, 50, 95 %
OUNCES_MEAN = 709.95
MELT = (21090, 21326, 21415)
MELT_MEAN, BY_FACE, BY_WEIGHT = 21298, 21450, 21433
BID, BID_BAD, PREMIUM = 19784, 19585, 199
