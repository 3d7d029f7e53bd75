"""Workbook -> Job: reading, cross-checks, the blank form, the marked copy."""
