"""From items to the lot: counts, shares, bounds, other types, fine weight."""
