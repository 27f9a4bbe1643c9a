"""The simulated board: the real firmware image in a simulated chip, driven by tests."""
