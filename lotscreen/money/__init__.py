"""What the metal is worth, what may be paid, and which test or lot is worth its minutes."""
