"""Bill -> Quote: costs, prices, taxes, options."""
