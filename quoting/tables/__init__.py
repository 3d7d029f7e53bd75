"""Decision-table mechanics: condition cells, matching, review."""
