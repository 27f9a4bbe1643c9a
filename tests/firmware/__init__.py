"""The reference firmware, as its image runs in the simulated board."""
