"""Kerfdocket: prepares oxy-fuel cutting jobs and prints their travellers."""

__version__ = "0.1.0"
