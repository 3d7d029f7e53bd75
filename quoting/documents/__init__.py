"""Quote -> files. Everything here renders from the Quote alone."""
