"""Two quotes of one job become what differs between them."""

from quoting.compare.quotes import compare_quotes

__all__ = ["compare_quotes"]
