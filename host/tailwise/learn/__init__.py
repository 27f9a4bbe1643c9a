"""Learning what nobody wrote down: an unknown keyboard's matrix, and which pin of the harness is which line."""
