"""Densities of elements in g/cm3: PyPI periodictable 2.1.0, which takes them from the X-Ray
Data Booklet, section 5-2. Manganese and aluminium: from memory, unconfirmed."""

ELEMENTS = {
    "Au": 19.3,
    "W": 19.3,
    "Ag": 10.5,
    "Pb": 11.35,
    "Cu": 8.96,
    "Ni": 8.902,
    "Sn": 7.31,
    "Zn": 7.133,
    "Fe": 7.874,
    "Mn": 7.43,
    "Al": 2.70,
}
