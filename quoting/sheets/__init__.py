"""Cells with addresses from .xlsx and .csv, and the typed reading of one cell."""
