"""chape: from a measured knife to a checked job folder.

Lengths are mm, angles radians in code and degrees in files, times s, forces N, temperatures
°C, unless a name says otherwise.
"""

__version__ = "0.1.0"
