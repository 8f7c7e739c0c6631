"""Euro coins: Council Regulation (EU) 729/2014, Annex I, by way of the Union's summary of
Regulation (EC) 975/98 (1 and 2 euro, 50 cent) and published tables that agree (the rest and
the thickness); the annex itself was not read. One table prints 3.08 g for 2 cent."""

# key: (mm across, mm thick, grams)
COINS = {
    "eu-1c-1999": (16.25, 1.67, 2.30),
    "eu-2c-1999": (18.75, 1.67, 3.06),
    "eu-5c-1999": (21.25, 1.67, 3.92),
    "eu-10c-1999": (19.75, 1.93, 4.10),
    "eu-20c-1999": (22.25, 2.14, 5.74),
    "eu-50c-1999": (24.25, 2.38, 7.80),
    "eu-1e-1999": (23.25, 2.33, 7.50),
    "eu-2e-1999": (25.75, 2.20, 8.50),
}
