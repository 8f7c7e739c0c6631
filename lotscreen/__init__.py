"""lotscreen: screens a lot of coins from a sheet of measurements."""

__version__ = "0.1.0"
