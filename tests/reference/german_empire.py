"""German Empire, Law of 4 December 1871, as reported in Foreign Relations of the United States
1876: 62.775 pieces of twenty marks from 500 g of .900 gold; passing weight 5 per mille below."""

TWENTY_MARK_PIECES_FROM_500_G = 62.775
FINENESS = 0.9
PASSING_PER_MILLE = 5.0
