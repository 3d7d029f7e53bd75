"""A room-and-zone workbook in, a priced whole-house audio quote out."""
