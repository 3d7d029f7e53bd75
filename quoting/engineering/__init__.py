"""Job -> facts: the designed system."""
