"""Parts, prices, labour, options, standards: read once, checked, then only looked up."""
